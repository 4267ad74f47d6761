"""Does a patient's plan stand exactly as long as the events say?"""

from datetime import UTC, datetime, timedelta

import pytest

from service.application.turns import Happened, moved_on, pointed, turns_of
from service.domain.record import PlanEventKind as Kind

BEGIN = datetime(2026, 3, 4, 8, 0, tzinfo=UTC)
Said = tuple[Kind, str, str | None]
"""What happened to which plan, and the plan it replaces or gave way to."""


def told(*said: Said, first: int = 1) -> list[Happened]:
    return [
        Happened(
            rev=rev,
            at=BEGIN + timedelta(minutes=rev),
            kind=kind,
            plan=plan,
            screen=plan.upper(),
            by_plan=other if kind == Kind.SUPERSEDED else None,
            replaces=other if kind == Kind.CREATED else None,
        )
        for rev, (kind, plan, other) in enumerate(said, first)
    ]


def shown(events: list[Happened]) -> list[tuple[int, str, bool]]:
    return [(turn.rev, turn.plan, turn.stands) for turn in turns_of(events)]


FIRST = (Kind.CREATED, "a", None)
NEXT = ((Kind.CREATED, "b", "a"), (Kind.SUPERSEDED, "a", "b"))


def test_a_first_plan_stands_from_its_first_event() -> None:
    assert shown(told(FIRST)) == [(1, "a", True)]


def test_a_newer_plan_stands_once_the_older_one_gave_way_to_it() -> None:
    assert shown(told(FIRST, *NEXT)) == [(1, "a", True), (2, "a", True), (3, "b", True)]


def test_the_turn_before_a_change_names_the_screen_that_brings_it_and_no_other_does() -> None:
    turns = turns_of(told(FIRST, *NEXT, (Kind.LAPSED, "b", None)))
    assert [turn.followed_by for turn in turns] == [None, "B", None, None]


def test_an_older_screen_that_comes_late_changes_nothing() -> None:
    late = ((Kind.CREATED, "b", None), (Kind.SUPERSEDED, "b", "a"))
    assert shown(told(FIRST, *late)) == [(rev, "a", True) for rev in (1, 2, 3)]


def test_a_plan_that_ran_out_still_is_the_one_that_stood() -> None:
    assert shown(told(FIRST, (Kind.LAPSED, "a", None)))[-1] == (2, "a", True)


def test_a_withdrawn_plan_leaves_none_until_the_one_before_stands_again() -> None:
    events = told(FIRST, *NEXT, (Kind.WITHDRAWN, "b", None), (Kind.RESTORED, "a", None))
    assert shown(events)[-2:] == [(4, "b", False), (5, "a", True)]


def test_a_screen_after_the_only_one_was_withdrawn_stands_at_once() -> None:
    events = told(FIRST, (Kind.WITHDRAWN, "a", None), (Kind.CREATED, "b", None))
    assert shown(events)[-2:] == [(2, "a", False), (3, "b", True)]


def test_withdrawing_a_plan_that_had_given_way_changes_nothing() -> None:
    assert shown(told(FIRST, *NEXT, (Kind.WITHDRAWN, "a", None)))[-1] == (4, "b", True)


def test_a_correction_to_an_earlier_hour_lets_the_other_plan_stand() -> None:
    corrected = (
        (Kind.CREATED, "c", None),
        (Kind.SUPERSEDED, "b", "c"),
        (Kind.SUPERSEDED, "c", "a"),
        (Kind.RESTORED, "a", None),
    )
    assert shown(told(FIRST, *NEXT, *corrected))[-1] == (7, "a", True)


def test_giving_way_to_a_plan_of_another_record_leaves_none_here() -> None:
    assert shown(told(FIRST, (Kind.SUPERSEDED, "a", "theirs")))[-1] == (2, "a", False)


def test_a_plan_of_a_joined_record_stands_from_the_event_that_says_so() -> None:
    events = told(FIRST, (Kind.SUPERSEDED, "a", "theirs"), (Kind.RESTORED, "theirs", None))
    assert shown(events)[-1] == (3, "theirs", True)


@pytest.mark.parametrize(
    ("said", "stands"),
    [
        ([(Kind.CREATED, "b", "a")], [(7, "a", True)]),
        ([(Kind.CREATED, "b", None), (Kind.SUPERSEDED, "a", "b")], [(8, "b", True)]),
        ([(Kind.CREATED, "b", None), (Kind.SUPERSEDED, "b", "a")], []),
        ([(Kind.WITHDRAWN, "b", None)], []),
        ([(Kind.LAPSED, "b", None)], [(7, "b", True)]),
    ],
)
def test_without_the_first_events_the_turns_begin_where_somebody_says_who_stands(
    said: list[Said], stands: list[tuple[int, str, bool]]
) -> None:
    assert shown(told(*said, first=7)) == stands


def test_a_record_that_was_joined_to_another_has_none_that_stands() -> None:
    turns = moved_on(turns_of(told(FIRST)), 2, BEGIN)
    assert (turns[-1].rev, turns[-1].at, turns[-1].plan) == (2, BEGIN, "a")
    assert not turns[-1].stands
    assert moved_on((), 2, BEGIN) == ()


def test_the_patients_pointer_outranks_what_the_events_say() -> None:
    turns = turns_of(told(FIRST, (Kind.SUPERSEDED, "a", "theirs")))
    last = pointed(turns, "theirs")[-1]
    assert (last.rev, last.plan, last.stands) == (2, "theirs", True)
    assert pointed(turns, None) == turns
    assert pointed((), "a") == ()
