"""Do the safety claims hold from the raw screen to the plan, for screens drawn at large?"""

from datetime import UTC, datetime
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import convert, to_builtins
from msgspec.structs import replace

from service.domain.axis import Axis
from service.domain.condition import Condition
from service.domain.context import DeviceAtHand, DeviceStatus
from service.domain.plan import Plan
from service.domain.profile import Profile
from service.domain.screen import Screen
from service.rules.load import load_book
from service.rules.norms import score_tests
from service.rules.plan import PlanIds, build_plan
from service.rules.profile import profile_of
from tests.invariants.worsening import ABLE, nearly_able, worse
from tests.strategies import screens

MANY = settings(max_examples=100, deadline=None)
BOOK = load_book()
SUPPORT = {name: method.support for name, method in BOOK.methods.items()}
NOBODY_MOVED = 99
LOADS = [None, Decimal(60), Decimal(120), Decimal(300)]


def assessed(screen: Screen) -> tuple[Profile, Plan]:
    tests = score_tests(BOOK, screen)
    profile = profile_of(BOOK, screen, tests)
    return profile, build_plan(BOOK, screen, profile, PlanIds("plan", "screen", 1))


def answers(screen: Screen) -> dict[str, tuple[int, int]]:
    """For each move: the place in the order of support, and the helpers."""
    _, plan = assessed(screen)
    return {
        each.move: (SUPPORT[each.method], NOBODY_MOVED if each.helpers is None else each.helpers)
        for each in plan.moves
    }


@MANY
@given(screens())
def test_every_move_gets_one_answer_that_cites_a_known_source(screen: Screen) -> None:
    profile, plan = assessed(screen)
    assert list(profile.axes) == list(Axis)
    moves = [each.move for each in plan.moves]
    assert len(moves) == len(set(moves))
    assert set(moves) == set(screen.context.moves or moves)
    for each in plan.moves:
        assert each.because
        for reason in each.because:
            assert reason.source in BOOK.sources


@MANY
@given(screens())
def test_the_same_screen_gives_the_same_answer(screen: Screen) -> None:
    again = convert(to_builtins(screen, builtin_types=(datetime,)), Screen, strict=False)
    assert assessed(again) == assessed(screen)


@MANY
@given(screens())
def test_withheld_clearance_moves_nobody(screen: Screen) -> None:
    profile, plan = assessed(screen)
    if profile.grade(Axis.CLEARANCE) in ("unknown", "withhold"):
        assert {each.method for each in plan.moves} == {"do_not_move"}


@MANY
@given(nearly_able() | screens(), st.sampled_from(DeviceStatus), st.data())
def test_no_device_is_chosen_overloaded_overdue_or_defective(
    screen: Screen, status: DeviceStatus, data: st.DataObject
) -> None:
    devices = [
        DeviceAtHand(
            device_class=name,
            status=data.draw(st.sampled_from([status, DeviceStatus.READY])),
            safe_working_load_kg=data.draw(st.sampled_from(LOADS)),
        )
        for name in data.draw(st.sets(st.sampled_from(sorted(BOOK.device_classes))))
    ]
    limited = replace(screen, context=replace(screen.context, devices=devices))
    _, plan = assessed(limited)
    mass = screen.patient.mass_kg
    for each in plan.moves:
        if each.device is None:
            continue
        wanted = each.device.device_class
        good = [
            device
            for device in devices
            if device.device_class == wanted and device.status == DeviceStatus.READY
        ]
        if BOOK.device_classes[wanted].carries_person:
            assert mass is not None
            good = [d for d in good if d.safe_working_load_kg and d.safe_working_load_kg >= mass]
        assert good


@MANY
@given(nearly_able() | screens(), st.data())
def test_taking_away_means_never_asks_more_of_the_person(
    screen: Screen, data: st.DataObject
) -> None:
    """7. One helper less, or one device less."""
    ready = [
        DeviceAtHand(device_class=name, safe_working_load_kg=Decimal(500))
        for name in sorted(data.draw(st.sets(st.sampled_from(sorted(BOOK.device_classes)))))
    ]
    helpers = data.draw(st.integers(1, 6))
    context = replace(screen.context, devices=ready, trained_helpers=helpers)
    before = answers(replace(screen, context=context))
    fewer = [replace(context, trained_helpers=helpers - 1)]
    fewer += [replace(context, devices=ready[:i] + ready[i + 1 :]) for i in range(len(ready))]
    for less in fewer:
        after = answers(replace(screen, context=less))
        assert all(after[move][0] >= before[move][0] for move in before)


def test_the_able_person_needs_nobody() -> None:
    assert set(answers(ABLE).values()) == {(SUPPORT["unaided"], 0), (SUPPORT["standby"], 1)}


@settings(max_examples=80, deadline=None)
@given(nearly_able() | screens())
def test_a_worse_screen_never_asks_more_of_the_person_nor_fewer_helpers(screen: Screen) -> None:
    """6 and 8, on the raw screen: not seen is no better than seen badly."""
    before = answers(screen)
    for what, changed in worse(screen):
        after = answers(changed)
        for move, (support, helpers) in before.items():
            assert after[move][0] >= support, (what, move)
            assert after[move][1] >= helpers, (what, move)


def test_the_conditions_of_a_screen_are_told_with_their_places() -> None:
    screen = convert(
        {
            "patient": {
                "identifier": {"system": "urn:oid:2.999.7", "value": "H-1"},
                "age_years": 70,
            },
            "observed_at": datetime(2026, 3, 4, 8, tzinfo=UTC),
            "orders": {"precautions": ["stoma"]},
            "readiness": {},
            "stages": {},
        },
        Screen,
    )
    profile, _ = assessed(screen)
    assert profile.conditions[Condition.STOMA][0].path == "/orders/precautions/0"
