"""Which persons, orders and states of readiness can hypothesis draw?"""

from datetime import date, datetime, timedelta

from hypothesis import strategies as st

from service.domain.orders import (
    Activity,
    Limb,
    LimbOrder,
    LimbOrders,
    Orders,
    Precaution,
    WeightBearingOrder,
)
from service.domain.readiness import (
    Cooperation,
    Instructions,
    LyingPressure,
    Orthostatic,
    Readiness,
    StandingPressure,
    Symptom,
    VitalSigns,
)
from service.domain.subject import Sex, Subject
from service.domain.value import Name
from tests.strategies_basics import IDENTIFIERS, WORDS, distinct, maybe, number


@st.composite
def subjects(draw: st.DrawFn, observed_at: datetime) -> Subject:
    known = draw(st.lists(IDENTIFIERS, min_size=1, max_size=3, unique=True))
    born = date(observed_at.year - draw(st.integers(19, 129)), 3, draw(st.integers(1, 28)))
    by_date = draw(st.booleans())
    sex = draw(maybe(st.sampled_from(Sex)))
    mass = draw(maybe(number("20", "500")))
    stature = draw(maybe(number("90", "250")))
    falls = draw(maybe(st.integers(0, 1000)))
    before = st.integers(0, 100_000).map(lambda minutes: observed_at - timedelta(minutes=minutes))
    return Subject(
        identifier=known[0],
        more_identifiers=known[1:],
        birth_date=born if by_date else None,
        age_years=None if by_date else draw(st.integers(18, 130)),
        sex=sex,
        mass_kg=mass,
        mass_measured_at=None if mass is None else draw(maybe(before)),
        stature_cm=stature,
        stature_measured_at=None if stature is None else draw(maybe(before)),
        popliteal_height_cm=draw(maybe(number("20", "70"))),
        seated_hip_breadth_cm=draw(maybe(number("20", "120"))),
        falls_last_12_months=falls,
        injured_in_fall=False if falls == 0 else draw(maybe(st.booleans())),
        pregnant=draw(maybe(st.just(value=False) if sex == Sex.MALE else st.booleans())),
        name=draw(maybe(st.builds(Name, family=maybe(WORDS), given=maybe(WORDS)))),
    )


@st.composite
def limb_orders(draw: st.DrawFn) -> LimbOrder:
    order = draw(st.sampled_from(WeightBearingOrder))
    partial = order == WeightBearingOrder.PWB
    return LimbOrder(order=order, percent=draw(st.integers(1, 99)) if partial else None)


@st.composite
def orders(draw: st.DrawFn) -> Orders:
    worn = draw(distinct(Limb, 4)) if draw(st.booleans()) else []
    lost = [Precaution(f"amputation_{limb}") for limb in worn]
    others = draw(distinct([p for p in Precaution if p not in lost], 5))
    limb = maybe(limb_orders())
    return Orders(
        precautions=lost + others,
        weight_bearing=draw(
            st.builds(LimbOrders, left_leg=limb, right_leg=limb, left_arm=limb, right_arm=limb)
        ),
        activity=draw(maybe(st.sampled_from(Activity))),
        prosthesis_worn=worn,
    )


@st.composite
def pressures(draw: st.DrawFn) -> tuple[int, int]:
    systolic = draw(st.integers(30, 320))
    return systolic, draw(st.integers(10, min(220, systolic - 1)))


@st.composite
def vital_signs(draw: st.DrawFn) -> VitalSigns:
    systolic, diastolic = draw(pressures())
    taken = draw(st.booleans())
    return VitalSigns(
        spo2_percent=draw(maybe(number("30", "100"))),
        heart_rate_per_min=draw(maybe(st.integers(10, 350))),
        respiratory_rate_per_min=draw(maybe(st.integers(0, 120))),
        systolic_mmhg=systolic if taken else None,
        diastolic_mmhg=diastolic if taken else None,
        mean_arterial_mmhg=draw(maybe(st.integers(diastolic, min(250, systolic)))),
        mean_arterial_target_mmhg=draw(maybe(st.integers(10, 250))),
        temperature_celsius=draw(maybe(number("25", "45"))),
        fio2_fraction=draw(maybe(number("0.21", "1", places=2))),
        oxygen_support=draw(maybe(st.booleans())),
        vasopressor_support=draw(maybe(st.booleans())),
    )


@st.composite
def orthostatics(draw: st.DrawFn) -> Orthostatic:
    lying, standing = draw(pressures()), draw(pressures())
    return Orthostatic(
        lying=LyingPressure(systolic_mmhg=lying[0], diastolic_mmhg=lying[1]),
        standing=StandingPressure(
            systolic_mmhg=standing[0],
            diastolic_mmhg=standing[1],
            minutes_after_standing=draw(st.integers(0, 30)),
        ),
        from_sitting=draw(st.booleans()),
    )


def readinesses() -> st.SearchStrategy[Readiness]:
    return st.builds(
        Readiness,
        rass=maybe(st.integers(-5, 4)),
        instructions=maybe(st.sampled_from(Instructions)),
        cooperation=maybe(st.sampled_from(Cooperation)),
        anaesthetised=st.booleans(),
        vital_signs=vital_signs(),
        orthostatic=maybe(orthostatics()),
        pain_0_10=maybe(st.integers(0, 10)),
        symptoms=distinct(Symptom, 6),
    )
