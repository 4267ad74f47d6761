"""Is a person known as the last screen that stands told, and joined when it was found out?"""

from datetime import timedelta

from msgspec.structs import replace

from service.application.ports import Family, Joined
from service.application.search_ports import Told
from service.domain.record import ScreenStatus
from service.fhir.patient_history import patient_at, turns_of
from tests.fhir.answers import FULL, PATIENT_ID, RECORDED_AT, SITE, answer_to

ALONE = Family(PATIENT_ID)
OTHER = "01957a3c-5d30-7c41-9a6b-ffffffffffff"


def told(screen: str, version: int, minute: int, status: str = "final") -> Told:
    return Told(screen, version, RECORDED_AT + timedelta(minutes=minute), ScreenStatus(status))


def test_each_screen_version_is_a_version_of_the_person_newest_first() -> None:
    rows = (told("b", 1, 3), told("a", 2, 2, "amended"), told("a", 1, 1))
    turns = turns_of(rows, ALONE)
    assert [turn.version for turn in turns] == ["b.1", "a.2", "a.1"]
    assert [turn.source for turn in turns] == list(rows)


def test_a_withdrawn_screen_tells_nothing_any_more() -> None:
    rows = (told("b", 2, 3, "withdrawn"), told("b", 1, 2), told("a", 1, 1))
    turns = turns_of(rows, ALONE)
    assert [(turn.version, turn.source.screen) for turn in turns] == [
        ("b.2", "a"), ("b.1", "b"), ("a.1", "a"),
    ]  # fmt: skip
    assert turns[0].at == rows[0].at


def test_where_no_screen_stands_the_last_one_is_all_that_is_known() -> None:
    rows = (told("a", 2, 2, "withdrawn"), told("a", 1, 1))
    assert [turn.source for turn in turns_of(rows, ALONE)] == list(rows)


def test_being_joined_is_a_version_of_its_own() -> None:
    later = RECORDED_AT + timedelta(minutes=5)
    family = Family(PATIENT_ID, (Joined(OTHER, later),))
    turns = turns_of((told("b", 1, 9), told("a", 1, 1)), family)
    assert [turn.version for turn in turns] == ["b.1.1", "a.1.1", "a.1"]
    assert [len(turn.family.replaces) for turn in turns] == [1, 1, 0]


def test_one_that_another_took_over_is_not_active_from_then_on() -> None:
    later = RECORDED_AT + timedelta(minutes=5)
    family = Family(PATIENT_ID, (), OTHER, later)
    now, before = turns_of((told("a", 1, 1),), family)
    record = answer_to(FULL).screen
    gone, was = patient_at(SITE, now, record), patient_at(SITE, before, record)
    assert (gone.active, gone.link[0].type) == (False, "replaced-by")
    assert (gone.meta.version_id, gone.meta.last_updated) == ("a.1.1", later)
    assert (was.active, was.link, was.meta.version_id) == (None, (), "a.1")


def test_two_joined_at_once_are_one_version() -> None:
    later = RECORDED_AT + timedelta(minutes=5)
    family = Family(PATIENT_ID, (Joined(OTHER, later), Joined("third", later)))
    turns = turns_of((told("a", 1, 1),), family)
    assert [turn.version for turn in turns] == ["a.1.2", "a.1"]


def test_of_whom_nothing_was_told_there_is_no_version() -> None:
    assert turns_of((), replace(ALONE, replaced_by=OTHER, replaced_at=RECORDED_AT)) == ()
