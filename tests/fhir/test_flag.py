"""Does a Flag stand while its reason does, and come down with a reason only?"""

from decimal import Decimal

import pytest
from msgspec.structs import replace

from service.application.ports import Standing, Stood
from service.domain.measured_tests import FunctionalReach, MeasuredTests, TimedUpAndGo
from service.domain.move import Move
from service.domain.record import PlanEventKind as Kind
from service.domain.stages import Sign, SignSeen, Stage
from service.fhir.encode import bytes_of
from service.fhir.flag import flags_of
from service.fhir.kinds import FLAG_DO_NOT_MOVE, FLAG_FALLS
from service.fhir.standing_resources import Flag
from tests.fhir.answers import FULL, HELPED, PATIENT_ID, SCREEN_ID, SITE
from tests.fhir.overruled import AT, REASON, decided
from tests.fhir.own_checks import resource_faults
from tests.fhir.standings import STEADY, WITHHELD, answer_of, standing, stood
from tests.fhir.validators import form_faults, official_faults, parse_faults, read, without_decimals

SAFE = stood(replace(HELPED, context=replace(HELPED.context, moves=[Move.BED_TO_CHAIR])))
"""Nothing speaks for a fall, and every move has a method."""


def flags(told: Standing) -> dict[str, Flag]:
    return {str(one.id).removeprefix(f"{PATIENT_ID}-"): one for one in flags_of(SITE, told)}


def details(made: Flag) -> list[str | None]:
    return [one.value_reference.reference for one in made.extension if one.value_reference]


def test_nothing_to_warn_of_is_no_flag() -> None:
    assert flags(standing(SAFE)) == {}


def test_a_fall_that_was_not_asked_about_is_no_flag_and_a_fall_is_one() -> None:
    person = HELPED.patient
    unasked = replace(HELPED, patient=replace(person, falls_last_12_months=None))
    fell = replace(HELPED, patient=replace(person, falls_last_12_months=2))
    assert FLAG_FALLS not in flags(standing(stood(unasked)))
    made = flags(standing(stood(fell)))[FLAG_FALLS]
    assert made.status == "active"
    assert [one.code for one in made.code.coding] == ["falls", "129839007"]
    assert details(made) == [f"CarePlan/{standing(stood(fell)).plan.plan.id}"]


@pytest.mark.parametrize(
    ("screen", "finding"),
    [
        (
            replace(
                HELPED,
                tests=MeasuredTests(timed_up_and_go=TimedUpAndGo(seconds=Decimal(12))),
            ),
            "test-timed-up-and-go",
        ),
        (
            replace(
                HELPED,
                tests=MeasuredTests(functional_reach=FunctionalReach(reach_cm=Decimal(20))),
            ),
            "test-functional-reach",
        ),
        (
            replace(HELPED, signs=[SignSeen(stage=Stage.RISE, sign=Sign.LOSS_OF_BALANCE)]),
            "stage-rise",
        ),
    ],
    ids=["slow to get up", "short reach", "lost balance"],
)
def test_what_was_seen_or_measured_is_named_by_its_observation(
    screen: object, finding: str
) -> None:
    assert isinstance(screen, type(HELPED))
    made = flags(standing(stood(screen)))[FLAG_FALLS]
    assert details(made) == [f"Observation/{SCREEN_ID}-{finding}"]


def test_a_sign_is_told_in_words() -> None:
    seen = replace(HELPED, signs=[SignSeen(stage=Stage.TIMED_STAND, sign=Sign.KNEE_BUCKLING)])
    made = flags(standing(stood(seen)))[FLAG_FALLS]
    assert made.text is not None
    assert "<li>Knee buckling at timed stand</li>" in made.text.div


def test_a_move_that_must_not_be_made_now_is_a_flag_that_names_it() -> None:
    now = stood(WITHHELD)
    made = flags(standing(now))[FLAG_DO_NOT_MOVE]
    assert made.code.text == "Do not move now"
    assert made.text is not None
    assert now.plan.plan.moves[0].move_title in made.text.div
    assert made.period.end is None


def test_where_other_moves_are_open_the_flag_does_not_say_that_nothing_may_be_moved() -> None:
    made = flags(standing(stood(HELPED)))[FLAG_DO_NOT_MOVE]
    assert made.code.coding[0].code == "moves_not_now"
    assert made.text is not None
    assert "Walk" in made.text.div
    assert "Bed to chair" not in made.text.div


def test_its_version_is_the_event_and_it_is_known_by_an_identifier() -> None:
    told = standing(stood(WITHHELD), rev=3)
    made = flags(told)[FLAG_DO_NOT_MOVE]
    assert (made.meta.version_id, made.meta.last_updated) == ("3", told.at)
    assert made.meta.profile == (SITE.profile("flag"),)
    assert made.identifier[0].value == made.id
    assert made.category[0].coding[0].code == "safety"


def test_a_plan_that_ran_out_takes_no_flag_down() -> None:
    made = flags(standing(stood(WITHHELD, Kind.LAPSED)))
    assert {one.status for one in made.values()} == {"active"}
    assert all(one.period.end is None for one in made.values())


def test_the_next_screen_takes_a_flag_down_and_says_since_when() -> None:
    before = stood(WITHHELD, number=5)
    made = flags(standing(SAFE, before))[FLAG_DO_NOT_MOVE]
    assert made.status == "inactive"
    assert made.period.start == before.plan.plan.valid_from
    assert made.period.end == SAFE.plan.plan.valid_from
    assert details(made) == []


@pytest.mark.parametrize(
    ("kind", "status"), [(Kind.WITHDRAWN, "entered-in-error"), (Kind.SUPERSEDED, "inactive")]
)
def test_a_flag_follows_a_plan_that_no_other_took_over_from(kind: Kind, status: str) -> None:
    told = standing(stood(WITHHELD, kind, current=False))
    assert {one.status for one in flags(told).values()} == {status}
    assert all(one.period.end is not None for one in flags(told).values())


def test_a_flag_that_only_a_withdrawn_screen_raised_was_an_error() -> None:
    wrong = stood(WITHHELD, Kind.WITHDRAWN, current=False, number=1)
    assert flags(standing(SAFE, wrong))[FLAG_DO_NOT_MOVE].status == "entered-in-error"


@pytest.mark.parametrize(
    "now",
    [stood(FULL), stood(WITHHELD), stood(WITHHELD, Kind.WITHDRAWN, current=False), stood(STEADY)],
    ids=["full", "withheld", "withdrawn", "steady"],
)
def test_every_validator_takes_a_flag_in_every_state(now: Stood) -> None:
    for made in flags_of(SITE, standing(now, stood(WITHHELD, number=9))):
        raw = bytes_of(made)
        assert resource_faults(read(raw)) == []
        assert form_faults(raw) == []
        assert parse_faults(raw) == []
        assert official_faults(without_decimals(raw)) == []


def chosen(one: Stood, *choices: tuple[Move, str]) -> Stood:
    """``one`` with so many choices, a minute apart from ``AT`` on."""
    told = [
        decided(answer_of(one), move, method, number)
        for number, (move, method) in enumerate(choices, 2)
    ]
    return replace(one, plan=replace(one.plan, events=(*one.plan.events, *told)))


def test_a_clinician_who_chooses_that_nobody_is_moved_raises_the_flag_from_then_on() -> None:
    now = chosen(SAFE, (Move.BED_TO_CHAIR, "do_not_move"))
    made = flags(standing(now))[FLAG_DO_NOT_MOVE]
    assert (made.status, made.code.text) == ("active", "Do not move now")
    assert (made.period.start, made.period.end) == (AT, None)
    assert made.text is not None
    assert f"Chosen by a clinician. Reason: {REASON}" in made.text.div
    assert details(made) == [f"CarePlan/{now.plan.plan.id}"]


def test_a_choice_that_moves_the_person_after_all_takes_the_flag_down_then() -> None:
    only = replace(WITHHELD, context=replace(WITHHELD.context, moves=[Move.BED_TO_CHAIR]))
    before = stood(only)
    assert flags(standing(before))[FLAG_DO_NOT_MOVE].status == "active"
    now = chosen(before, (Move.BED_TO_CHAIR, "sling_lift"))
    made = flags(standing(now))[FLAG_DO_NOT_MOVE]
    assert made.status == "inactive"
    assert (made.period.start, made.period.end) == (before.plan.plan.valid_from, AT)
    assert details(made) == []
    back = chosen(before, (Move.BED_TO_CHAIR, "sling_lift"), (Move.BED_TO_CHAIR, "do_not_move"))
    again = flags(standing(back))[FLAG_DO_NOT_MOVE]
    assert again.status == "active"
    assert (again.period.start, again.period.end) == (back.plan.events[-1].at, None)
    assert again.text is not None
    assert "clinician" not in again.text.div.replace("as the clinician directs", "")


def test_one_move_let_through_leaves_a_flag_for_the_others_that_stands_since_before() -> None:
    before = stood(WITHHELD)
    now = chosen(before, (Move.BED_TO_CHAIR, "sling_lift"))
    made = flags(standing(now))[FLAG_DO_NOT_MOVE]
    assert (made.status, made.code.text) == ("active", "Some moves are not to be made now")
    assert made.period.start == before.plan.plan.valid_from
    assert made.text is not None
    assert "Bed to chair" not in made.text.div


def test_no_choice_of_a_method_touches_a_risk_of_falling() -> None:
    fell = stood(replace(HELPED, patient=replace(HELPED.patient, falls_last_12_months=2)))
    before = flags(standing(fell))[FLAG_FALLS]
    after = flags(standing(chosen(fell, (Move.BED_TO_CHAIR, "unaided"))))[FLAG_FALLS]
    assert (after.status, after.period, after.extension) == (
        before.status, before.period, before.extension,
    )  # fmt: skip


@pytest.mark.parametrize(
    "now",
    [
        chosen(SAFE, (Move.BED_TO_CHAIR, "do_not_move")),
        chosen(stood(WITHHELD), (Move.BED_TO_CHAIR, "sling_lift")),
    ],
    ids=["nobody is moved", "somebody is"],
)
def test_every_validator_takes_a_flag_after_a_choice(now: Stood) -> None:
    made = flags_of(SITE, standing(now))
    assert made
    for raw in map(bytes_of, made):
        assert resource_faults(read(raw)) == []
        assert form_faults(raw) == []
        assert parse_faults(raw) == []
        assert official_faults(without_decimals(raw)) == []
