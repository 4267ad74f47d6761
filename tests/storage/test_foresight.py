"""Is all that a batch will ask known at once, and never an old row taken for a new one?"""

from collections.abc import Mapping, Sequence
from typing import Any

from service.application.ports import Once
from service.domain.value import Identifier
from service.storage import statements_sqlite as sql
from service.storage.foresight import Foreseeing, Foresight, asks_of
from service.storage.rows import PatientRow
from tests.storage.made import HOSPITAL, House

ROOT = PatientRow("o", "p-1", 3, "plan-1", "s-1", 1, 2, None, 1, b"{}")
KNOWN: dict[tuple[str, str], Any] = {
    (sql.PATIENT_ID, "H-1"): ("p-1",),
    (sql.PATIENT, "p-1"): tuple(ROOT),
    (sql.LAST_EVENT, "plan-1"): (4, None),
}


class Far:
    """A server a journey away: counts the journeys."""

    def __init__(self) -> None:
        self.journeys: list[int] = []

    def ask_all(self, asks: Sequence[tuple[str, Mapping[str, Any]]]) -> list[Any]:
        self.journeys.append(len(asks))
        return [self._row(statement, named) for statement, named in asks]

    def execute(self, statement: str, named: Mapping[str, Any]) -> "Far":
        self.journeys.append(1)
        self._found = self._row(statement, named)
        return self

    def fetchone(self) -> Any:
        return self._found

    def _row(self, statement: str, named: Mapping[str, Any]) -> Any:
        return KNOWN.get((statement, str(list(named.values())[-1])))


def of(value: str) -> tuple[str, dict[str, Any]]:
    return sql.PATIENT_ID, {"org": "o", "system": "s", "value": value}


def test_who_is_asked_for_and_what_follows_is_known_in_as_many_journeys_as_it_has_steps() -> None:
    far = Far()
    foresight = Foresight(far)
    foresight.look([of("H-1"), of("H-2"), of("H-1")])
    assert far.journeys == [2, 1, 1]
    assert foresight.row(far, *of("H-1")) == ("p-1",)
    assert foresight.row(far, *of("H-2")) is None
    assert foresight.row(far, sql.PATIENT, {"id": "p-1", "org": "o"}) == tuple(ROOT)
    assert foresight.row(far, sql.LAST_EVENT, {"plan": "plan-1"}) == (4, None)
    assert far.journeys == [2, 1, 1]


def test_what_was_not_foreseen_or_may_have_changed_is_asked_for() -> None:
    far = Far()
    foresight = Foresight(far)
    foresight.look([of("H-1")])
    foresight.row(far, *of("H-3"))
    foresight.forget()
    assert foresight.row(far, *of("H-1")) == ("p-1",)
    assert far.journeys == [1, 1, 1, 1, 1]


def test_a_file_is_asked_nothing_beforehand() -> None:
    class Near(Far):
        ask_all = None  # type: ignore[assignment]

    near = Near()
    Foresight(near).look([of("H-1")])
    assert near.journeys == []


def test_a_decision_is_made_as_without() -> None:
    told = Foreseeing(lambda batch: (batch, 1), [of("H-1")])
    assert (told("batch"), told.asks) == (("batch", 1), (of("H-1"),))


async def test_what_is_foreseen_is_what_keeping_a_screen_asks(house: House) -> None:
    """With what was kept before in each way that is asked for: a key, a source, two numbers."""
    more = (Identifier(system="urn:oid:2.999.8", value="X-1"),)
    once = Once("POST /v1/screens", "key-1", "digest")
    new = house.new("H-1", 1, once, "source-1", more)
    kept = await house.store.keep(new)
    statements = [statement for statement, _ in asks_of(new)]
    assert statements == [sql.PATIENT_ID, sql.PATIENT_ID, sql.CLAIM, sql.SCREEN_OF_SOURCE]
    assert asks_of(new)[0][1] == {"org": house.by.org, "system": HOSPITAL, "value": "H-1"}
    again = await house.store.keep(house.new("H-1", 1, once, "source-1", more))
    by_source = await house.store.keep(house.new("H-1", 1, None, "source-1", more))
    assert again.replayed and again.record.id == by_source.record.id == kept.record.id
    later = await house.store.keep(house.new("H-1", 2, None, None, more))
    assert later.plan.plan.replaces == kept.plan.plan.id
