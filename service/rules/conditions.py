"""Which conditions are present in a screen, and where is each of them recorded?"""

from collections.abc import Callable, Iterator

from service.domain.condition import Condition
from service.domain.context import Context, FloorInjury, OnTheFloor, WalkingAid
from service.domain.move import Move
from service.domain.orders import Activity
from service.domain.profile import Finding
from service.domain.readiness import Symptom
from service.domain.score import TestScore
from service.domain.screen import Screen
from service.domain.stages import Outcome, Sides, Sign, StandEnd
from service.rules.axes import seen_weight
from service.rules.body import mass_unknown, very_heavy
from service.rules.book import RuleBook
from service.rules.clearance import vital_signs_missing
from service.rules.finding import by_condition, by_parameter, limit
from service.rules.limbs import ARMS, FULLY, LEGS, PARTLY, limb_findings, ordered_weight
from service.rules.plausible import odd_values
from service.rules.precautions import ordered

Place = tuple[str, object]
Read = Callable[[Screen], Iterator[Place]]

# sign at a stage, the same sign as the end of the timed stand
_SIGNS = {
    Condition.KNEE_BUCKLING: (Sign.KNEE_BUCKLING, StandEnd.KNEE_BUCKLING),
    Condition.LOSS_OF_BALANCE: (Sign.LOSS_OF_BALANCE, StandEnd.LOSS_OF_BALANCE),
    Condition.LEANING_BACK: (Sign.LEANING_BACK, None),
    Condition.DIZZINESS: (Sign.DIZZINESS, StandEnd.DIZZINESS),
}
_FAINT = (Symptom.DIZZINESS, Symptom.FAINTNESS, Symptom.BLURRED_VISION)
_JUDGED = {
    Condition.TUG_AT_RISK: ("timed_up_and_go.cdc", "at_risk"),
    Condition.CHAIR_STAND_BELOW_AVERAGE: ("chair_stand_30s.cdc", "below_average"),
}


def conditions_of(
    book: RuleBook, screen: Screen, tests: tuple[TestScore, ...]
) -> dict[Condition, tuple[Finding, ...]]:
    """Every condition that is present, with the places that say so."""
    found = ordered(book, screen)
    found |= {
        condition: tuple(by_condition(book, condition, *place) for place in read(screen))
        for condition, read in _READ.items()
    }
    faint = tuple(_dizzy(screen))
    drop = tuple(_drop(book, screen))
    lowered = drop or found.get(Condition.POSTURAL_HYPOTENSION, ())
    found[Condition.ORTHOSTATIC_DROP] = drop
    if lowered and faint:
        symptoms = Condition.ORTHOSTATIC_SYMPTOMS
        found[symptoms] = tuple(by_condition(book, symptoms, *place) for place in faint)
    found[Condition.DEEPLY_SEDATED] = tuple(_deep(book, screen))
    found[Condition.VITAL_SIGNS_NOT_TAKEN] = vital_signs_missing(book, screen)
    found[Condition.VERY_HEAVY] = very_heavy(book, screen)
    found[Condition.MASS_UNKNOWN] = mass_unknown(book, screen)
    found[Condition.LEG_ORDER] = limb_findings(book, screen, Condition.LEG_ORDER, LEGS, FULLY)
    found[Condition.ARM_ORDER] = limb_findings(book, screen, Condition.ARM_ORDER, ARMS, PARTLY)
    found[Condition.ORDER_CONFLICT] = tuple(_conflict(book, screen))
    found |= _judged(tests)
    found |= odd_values(book, screen)
    return {name: found[name] for name in Condition if found.get(name)}


def _signs(condition: Condition) -> Read:
    sign, end = _SIGNS[condition]

    def read(screen: Screen) -> Iterator[Place]:
        for index, seen in enumerate(screen.signs):
            if seen.sign == sign:
                yield f"/signs/{index}", f"{seen.sign} at {seen.stage}"
        if end is not None and screen.stages.timed_stand.ended_by == end:
            yield "/stages/timed_stand/ended_by", end

    return read


def _dizzy(screen: Screen) -> Iterator[Place]:
    yield from _signs(Condition.DIZZINESS)(screen)
    for index, symptom in enumerate(screen.readiness.symptoms):
        if symptom in _FAINT:
            yield f"/readiness/symptoms/{index}", symptom


def _drop(book: RuleBook, screen: Screen) -> Iterator[Finding]:
    measured = screen.readiness.orthostatic
    if measured is None:
        return
    suffix = "_from_sitting" if measured.from_sitting else ""
    for part in ("systolic", "diastolic"):
        before = getattr(measured.lying, f"{part}_mmhg")
        after = getattr(measured.standing, f"{part}_mmhg")
        parameter = f"orthostatic_{part}_drop{suffix}"
        if before - after >= limit(book, parameter):
            path = f"/readiness/orthostatic/standing/{part}_mmhg"
            yield by_parameter(book, parameter, path, before - after)


def _deep(book: RuleBook, screen: Screen) -> Iterator[Finding]:
    rass = screen.readiness.rass
    if screen.readiness.anaesthetised:
        yield by_condition(book, Condition.DEEPLY_SEDATED, "/readiness/anaesthetised", "yes")
    if rass is not None and rass <= limit(book, "rass_flat_only_to"):
        yield by_parameter(book, "rass_flat_only_to", "/readiness/rass", rass)


def _conflict(book: RuleBook, screen: Screen) -> Iterator[Finding]:
    condition = Condition.ORDER_CONFLICT
    if seen_weight(book, screen) == "full" and ordered_weight(screen) != "full":
        yield by_condition(book, condition, "/orders/weight_bearing", "less than was seen")
    stood = screen.stages.rise.outcome in (Outcome.ACHIEVED, Outcome.ACHIEVED_WITH_HELP)
    if stood and screen.orders.activity == Activity.BED_REST:
        yield by_condition(book, condition, "/orders/activity", "bed rest, yet seen standing")


def _judged(tests: tuple[TestScore, ...]) -> dict[Condition, tuple[Finding, ...]]:
    outcomes = {
        judgement.rule: (test.test, judgement) for test in tests for judgement in test.judgements
    }
    found: dict[Condition, tuple[Finding, ...]] = {}
    for condition, (rule, outcome) in _JUDGED.items():
        if rule in outcomes and outcomes[rule][1].outcome == outcome:
            test, judgement = outcomes[rule]
            found[condition] = (
                Finding(
                    f"/tests/{test}",
                    judgement.text,
                    rule,
                    judgement.source,
                    judgement.standing,
                    judgement.cut_point,
                ),
            )
    return found


def _weaker(sides: Sides) -> bool:
    outcomes = {sides.left.outcome, sides.right.outcome}
    return outcomes == {Outcome.ACHIEVED, Outcome.NOT_ACHIEVED}


def _one_sided(screen: Screen) -> Iterator[Place]:
    stages = screen.stages
    for name in ("arm_pull", "weight_shift", "heel_raise", "foot_lift"):
        if _weaker(getattr(stages, name)):
            yield f"/stages/{name}", "one side only"


def _floor(screen: Screen) -> OnTheFloor:
    """What is known of a person on the floor; nothing stands against one who is not asked about."""
    if screen.context.on_the_floor is not None:
        return screen.context.on_the_floor
    asked = Move.UP_FROM_FLOOR in (screen.context.moves or ())
    return OnTheFloor() if asked else OnTheFloor(injury=FloorInjury.NONE, gets_up_alone=True)


def _when(path: str, value: Callable[[Screen], object], present: Callable[[object], bool]) -> Read:
    """Present when the value at ``path`` is so."""

    def read(screen: Screen) -> Iterator[Place]:
        seen = value(screen)
        if present(seen):
            yield path, seen

    return read


def _context(read: Callable[[Context], object]) -> Callable[[Screen], object]:
    return lambda screen: read(screen.context)


_READ: dict[Condition, Read] = {
    Condition.PREGNANCY: _when("/patient/pregnant", lambda s: s.patient.pregnant, bool),
    Condition.BED_REST: _when(
        "/orders/activity", lambda s: s.orders.activity, lambda v: v == Activity.BED_REST
    ),
    Condition.ACTIVITY_WITH_HELP: _when(
        "/orders/activity",
        lambda s: s.orders.activity,
        lambda v: v in (Activity.WITH_HELP, Activity.BED_REST),
    ),
    Condition.ANAESTHETISED: _when(
        "/readiness/anaesthetised", lambda s: s.readiness.anaesthetised, bool
    ),
    Condition.KNEE_BUCKLING: _signs(Condition.KNEE_BUCKLING),
    Condition.LOSS_OF_BALANCE: _signs(Condition.LOSS_OF_BALANCE),
    Condition.LEANING_BACK: _signs(Condition.LEANING_BACK),
    Condition.DIZZINESS: _dizzy,
    Condition.ONE_SIDED_WEAKNESS: _one_sided,
    Condition.FALL_IN_YEAR: _when(
        "/patient/falls_last_12_months", lambda s: s.patient.falls_last_12_months, lambda v: v != 0
    ),
    Condition.USES_WALKING_AID: _when(
        "/context/walking_aid",
        _context(lambda c: c.walking_aid),
        lambda v: v != WalkingAid.NOT_USED,
    ),
    Condition.NO_WALKING_AID: _when(
        "/context/walking_aid",
        _context(lambda c: c.walking_aid),
        lambda v: v != WalkingAid.AT_HAND,
    ),
    Condition.CHAIR_DOES_NOT_RECLINE: _when(
        "/context/chair/reclines", _context(lambda c: c.chair.reclines), lambda v: v is not True
    ),
    Condition.ARMRESTS_FIXED: _when(
        "/context/chair/armrests_removable",
        _context(lambda c: c.chair.armrests_removable),
        lambda v: v is False,
    ),
    Condition.ARMRESTS_UNCHECKED: _when(
        "/context/chair/armrests_removable",
        _context(lambda c: c.chair.armrests_removable),
        lambda v: v is None,
    ),
    Condition.STRETCHER_STAYS_HIGH: _when(
        "/context/stretcher/lowers_to_seat_height",
        _context(lambda c: c.stretcher.lowers_to_seat_height),
        lambda v: v is not True,
    ),
    Condition.FLOOR_INJURY: _when(
        "/context/on_the_floor/injury",
        lambda s: _floor(s).injury,
        lambda v: v not in (FloorInjury.NONE, FloorInjury.MINOR),
    ),
    Condition.CANNOT_RISE_FROM_FLOOR: _when(
        "/context/on_the_floor/gets_up_alone",
        lambda s: _floor(s).gets_up_alone,
        lambda v: v is not True,
    ),
}
