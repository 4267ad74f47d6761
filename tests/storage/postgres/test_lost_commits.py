"""Is a commit whose answer was lost answered by what the record says, and by nothing less?"""

from typing import Any

import psycopg
import pytest

from service.application.ports import Once
from service.domain.problem import Unavailable
from service.storage import statements_sqlite as sql
from service.storage.chain import SERVING, Head, chain_start
from service.storage.engine import InDoubt
from service.storage.place import Server
from service.storage.postgres import engine as engines
from service.storage.postgres.connection import Connection, connected
from service.storage.postgres.door import Door
from service.storage.postgres.engine import OutcomeUnknown, PostgresEngine, lock
from service.storage.rows import AuditRow
from service.storage.verify import verify_audit
from tests.storage.made import House, rows_of


class Torn(Connection):
    """Loses its connection when it commits: before the server hears of it, or after."""

    def __init__(self, raw: Any, *, heard: bool) -> None:
        super().__init__(raw)
        self._heard = heard

    def execute(self, statement: str, values: Any = None) -> Any:
        if statement != "COMMIT":
            return super().execute(statement, values)
        if self._heard:
            super().execute(statement)
        self.raw.close()
        raise psycopg.OperationalError("the connection is lost")


@pytest.mark.parametrize("heard", [True, False])
async def test_an_answer_lost_in_the_commit_is_asked_for(house: House, heard: bool) -> None:  # noqa: FBT001
    await house.store._upkeep.stop()  # whose writes would be torn instead
    writing: Any = house.store._writer._engine
    writing.connection = Torn(writing.connection.raw, heard=heard)
    new = house.new("H-1", 1)
    if heard:
        assert (await house.store.keep(new)).plan.is_current
    else:
        with pytest.raises(Unavailable):
            await house.store.keep(new)
    assert rows_of(house.path, "screen") == int(heard)
    assert (await house.store.keep(house.new("H-2", 1))).plan.is_current
    assert verify_audit(house.path).sound


class Closed(Door):
    def __init__(self) -> None:
        super().__init__("")

    def connection(self) -> Any:
        raise psycopg.OperationalError("nobody there")


MINE = {"o": Head(1, bytes(32))}


def test_what_nobody_can_say_is_never_answered_as_kept(server: Server) -> None:
    engine = PostgresEngine(server.write)
    engine.begin(None)
    engine.connection = Torn(engine.connection.raw, heard=False)
    engine._door = Closed()
    with pytest.raises(OutcomeUnknown) as raised:
        engine.commit(MINE)
    assert engine.is_of_the_machine(raised.value)


def test_a_lost_transaction_that_left_no_entry_of_its_own_is_in_doubt(server: Server) -> None:
    engine = PostgresEngine(server.write)
    engine.begin({"o"})
    engine.heads({"o"})
    engine.connection = Torn(engine.connection.raw, heard=True)
    with pytest.raises(OutcomeUnknown):
        engine.commit({})
    engine.close()


def test_the_entry_of_another_transaction_in_its_place_is_not_taken_for_it(
    server: Server,
) -> None:
    engine = PostgresEngine(server.write)
    engine.begin({"o"})
    engine.heads({"o"})
    other = AuditRow("o", 1, SERVING, 5, b"another", bytes(31) + b"1")
    with connected(server.write) as raw:
        Connection(raw).execute(sql.INSERT_AUDIT, other)
    engine.connection = Torn(engine.connection.raw, heard=False)
    with pytest.raises(psycopg.OperationalError) as raised:
        engine.commit(MINE)
    assert not isinstance(raised.value, InDoubt)
    engine.close()


def test_as_long_as_a_lost_transaction_may_still_end_either_way_it_is_in_doubt(
    server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engines, "_WAIT_FOR_LOST", "SET LOCAL lock_timeout = '200ms'")
    engine = PostgresEngine(server.write)
    engine.begin({"o"})
    engine.heads({"o"})
    engine.roll_back()
    waiting = Connection(connected(server.write))
    waiting.execute("BEGIN")
    lock(waiting, {"o"})
    engine.connection = Torn(engine.connection.raw, heard=False)
    with pytest.raises(OutcomeUnknown):
        engine.commit(MINE)
    waiting.close()
    engine.close()


class Shut(Torn):
    """Loses its connection in a commit that no standby was waited for."""

    def execute(self, statement: str, values: Any = None) -> Any:
        if statement == "COMMIT":
            self.raw.execute(ALONE)
        return super().execute(statement, values)


ALONE = (
    "DO $$ BEGIN"
    " RAISE WARNING 'canceling wait for synchronous replication due to user request';"
    " END $$"
)


def test_a_standby_that_did_not_answer_is_a_failure(server: Server) -> None:
    engine = PostgresEngine(server.write)
    engine.begin(None)
    engine.connection.execute(ALONE)
    with pytest.raises(engines.NotReplicated) as raised:
        engine.commit({})
    assert engine.is_of_the_machine(raised.value)
    engine.close()


def test_what_was_found_kept_is_answered_only_once_a_standby_has_it_too(
    server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    engine = PostgresEngine(server.write)
    engine.begin({"o"})
    engine.heads({"o"})
    engine.connection.execute(sql.INSERT_AUDIT, AuditRow("o", SERVING, 1, 5, b"", MINE["o"].digest))
    engine.connection = Shut(engine.connection.raw, heard=True)
    monkeypatch.setattr(engines, "_WRITE", ALONE)
    with pytest.raises(engines.NotReplicated):
        engine.commit(MINE)
    engine.close()


def test_what_another_organisation_had_before_proves_nothing(server: Server) -> None:
    engine = PostgresEngine(server.write)
    with connected(server.write) as raw:
        Connection(raw).execute(sql.INSERT_AUDIT, AuditRow("o", SERVING, 1, 5, b"", bytes(32)))
    engine.begin({"p"})
    engine.heads({"p"})
    engine.connection = Torn(engine.connection.raw, heard=True)
    with pytest.raises(OutcomeUnknown):
        engine.commit(MINE | {"p": chain_start("p", SERVING)})
    engine.close()


async def test_who_hears_that_it_is_in_doubt_is_not_told_that_nothing_was_kept(
    house: House,
) -> None:
    await house.store._upkeep.stop()
    writing: Any = house.store._writer._engine
    writing.connection = Torn(writing.connection.raw, heard=True)
    door, writing._door = writing._door, Closed()
    once = Once("POST /v1/screens", "key-1", "digest")
    new = house.new("H-1", 1, once)
    with pytest.raises(Unavailable) as raised:
        await house.store.keep(new)
    assert raised.value.detail.startswith("Whether this was kept is not known")
    assert raised.value.retry_after_s == 2
    writing._door = door
    again = await house.store.keep(house.new("H-1", 1, once))
    assert again.replayed and again.record.id == new.screen_id


def test_a_commit_that_the_server_turned_into_a_rollback_is_a_failure(server: Server) -> None:
    engine = PostgresEngine(server.write)
    engine.begin({"o"})
    engine.heads({"o"})
    with pytest.raises(psycopg.Error):
        engine.connection.execute("SELECT 1 / 0")
    with pytest.raises(psycopg.OperationalError, match="rolled back"):
        engine.commit(MINE)
    engine.close()
