"""In which order does a search go, and does it pass over only what cannot match?"""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any, cast

import pytest

from service.application.search_ports import By, Look
from service.fhir.search_query import read_query
from service.web.fhir.search_look import Search, look_of, tells_of

NOW = datetime(2026, 3, 5, tzinfo=UTC)
MORNING = datetime(2026, 3, 4, 7, tzinfo=UTC)


def look(kind: str, *said: tuple[str, str]) -> Look:
    query = read_query(kind, said, "http://host/fhir/R4", UTC)
    anything: Any = None
    search = Search(house=anything, call=anything, query=query, now=NOW, patients=("p",))
    return look_of(search)


@pytest.mark.parametrize(
    ("said", "by", "newest_first"),
    [
        ([], By.OBSERVED, True),
        ([("date", "2026")], By.OBSERVED, True),
        ([("_lastUpdated", "ge2026")], By.CHANGED, True),
        ([("_lastUpdated", "ge2026"), ("date", "2026")], By.OBSERVED, True),
        ([("_sort", "date")], By.OBSERVED, False),
        ([("_sort", "-date"), ("_lastUpdated", "ge2026")], By.OBSERVED, True),
        ([("_sort", "_lastUpdated")], By.CHANGED, False),
        ([("_sort", "-_lastUpdated"), ("date", "2026")], By.CHANGED, True),
    ],
)
def test_the_order_is_the_one_asked_for_or_follows_from_the_dates(
    said: list[tuple[str, str]], by: By, *, newest_first: bool
) -> None:
    found = look("Observation", *said)
    assert (found.by, found.newest_first) == (by, newest_first)


def test_the_times_are_bounded_by_every_condition_on_the_order() -> None:
    day = [("date", "ge2026-03-04"), ("date", "lt2026-03-05")]
    found = look("Observation", *day)
    assert found.low == MORNING.replace(hour=0) - timedelta(seconds=1)
    assert found.high == MORNING.replace(hour=0) + timedelta(days=2)
    assert (look("Observation", *day, ("_sort", "_lastUpdated")).low) is None


def test_one_of_several_dates_is_enough_so_that_all_of_them_bound() -> None:
    found = look("Observation", ("date", "2026-03-04,2026-03-01"))
    assert found.low == datetime(2026, 2, 28, 23, 59, 59, tzinfo=UTC)
    assert found.high == datetime(2026, 3, 5, tzinfo=UTC)
    assert look("Observation", ("date", "2026-03-04,ne2026")).low is None


def test_a_plan_that_began_long_ago_may_be_valid_still() -> None:
    for prefix in ("gt", "ge", "ap"):
        assert look("CarePlan", ("date", f"{prefix}2026-03-04")).low is None
    assert look("CarePlan", ("date", "sa2026-03-04")).low is not None
    assert look("CarePlan", ("date", "lt2026-03-04")).high is not None
    changed = look("CarePlan", ("_lastUpdated", "ge2026-03-04"))
    assert (changed.by, changed.low is None) == (By.CHANGED, False)


STATUS = "http://hl7.org/fhir/request-status"


@pytest.mark.parametrize(
    ("status", "states"),
    [
        ("active", "current"),
        ("revoked", "superseded lapsed"),
        ("completed", "lapsed"),
        (f"{STATUS}|entered-in-error", "withdrawn"),
        ("active,completed", "current lapsed"),
        ("draft", ""),
        ("urn:other|active", ""),
    ],
)
def test_plans_are_read_only_in_the_states_that_may_have_the_status(
    status: str, states: str
) -> None:
    sieve = look("CarePlan", ("status", status)).sieve
    assert sieve is not None
    assert (sieve.states, sieve.now, sieve.ends_from) == (frozenset(states.split()), NOW, None)


def test_every_condition_on_the_status_narrows_the_states() -> None:
    both = look("CarePlan", ("status:not", "completed"), ("status", "revoked,active")).sieve
    assert both is not None
    assert both.states == {"current", "superseded", "lapsed"}
    either = look("CarePlan", ("status", "revoked"), ("status", "completed")).sieve
    assert either is not None
    assert either.states == frozenset()


def test_plans_that_end_before_all_that_is_asked_for_are_not_read() -> None:
    just_before = datetime(2026, 3, 3, 23, 59, 59, tzinfo=UTC)
    for prefix in ("", "gt", "ge", "sa"):
        sieve = look("CarePlan", ("date", f"{prefix}2026-03-04")).sieve
        assert sieve is not None
        assert sieve.ends_from == just_before
    for said in ("lt2026-03-04", "eb2026-03-04", "ne2026-03-04", "ge2026-03-04,lt2026-03-01"):
        assert look("CarePlan", ("date", said)).sieve is None


def test_without_such_a_condition_and_of_other_types_everything_is_read() -> None:
    assert look("CarePlan").sieve is None
    assert look("CarePlan", ("_lastUpdated", "ge2026-03-04")).sieve is None
    assert look("Observation", ("status", "final"), ("date", "ge2026-03-04")).sieve is None


def test_a_provenance_tells_of_a_resource_in_any_version_and_of_no_other() -> None:
    target = SimpleNamespace(reference="CarePlan/c-1/_history/3")
    provenance = cast("Any", SimpleNamespace(target=(target,)))
    assert tells_of(provenance, "CarePlan", "c-1")
    assert not tells_of(provenance, "CarePlan", "c-11")
    assert not tells_of(provenance, "CarePlan", "c")
    assert not tells_of(provenance, "Observation", "c-1")
