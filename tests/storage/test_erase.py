"""Is nothing left of a patient who was erased, and everything of everybody else?"""

from datetime import timedelta
from pathlib import Path

import pytest
from sqlmodel import SQLModel

from service.application.ports import Merge
from service.storage.backup import back_up
from service.storage.connection import short_read
from service.storage.erase import erase_patient, unseen_since
from service.storage.erase_queries import KEPT_OF_A_PATIENT
from service.storage.place import Place
from service.storage.seal import seal_now
from service.storage.verify import verify_audit
from tests.storage.made import HOSPITAL, ON_A_FILE, House, sql_of
from tests.storage.test_change_plan import end, kept, overrule


def contents(path: Place) -> bytes:
    """Every byte of the file and of the log beside it."""
    assert isinstance(path, Path)
    return b"".join(each.read_bytes() for each in sorted(path.parent.glob(f"{path.name}*")))


async def patient_of(house: House, value: str) -> str:
    found = await house.store.find_patient(house.by.org, HOSPITAL, value)
    assert found is not None
    return found.id


def test_every_table_that_names_a_patient_is_known() -> None:
    tables = SQLModel.metadata.tables
    naming = {name for name, table in tables.items() if "patient" in table.c}
    assert naming == set(KEPT_OF_A_PATIENT)


@ON_A_FILE
async def test_no_byte_of_an_erased_patient_is_left_and_the_trail_is_whole(house: House) -> None:
    await house.store.keep(house.new("GONE-4711", 1))
    await house.store.keep(house.new("STAYS-0815", 2))
    await seal_now(house.store._writer)
    gone, stays = await patient_of(house, "GONE-4711"), await patient_of(house, "STAYS-0815")
    assert b"GONE-4711" in contents(house.path)
    erased = erase_patient(house.path, house.clock, house.by.org, gone)
    assert erased.rows == {
        "idempotency": 0, "outbox": 0, "plan_event": 1, "plan": 1, "screen": 1, "patient_id": 1,
        "merged patient": 0, "patient": 1,
    }  # fmt: skip
    assert erased.overwritten
    assert b"GONE-4711" not in contents(house.path)
    assert b"STAYS-0815" in contents(house.path)
    assert await house.store.find_patient(house.by.org, HOSPITAL, "GONE-4711") is None
    assert await house.store.patient(house.by.org, gone) is None
    assert await house.store.patient(house.by.org, stays) is not None
    assert verify_audit(house.path).sound


@ON_A_FILE
async def test_no_word_of_a_clinician_s_choice_is_left_either(house: House) -> None:
    old, new = await kept(house, "H-1"), await kept(house, "H-2", at=1)
    await overrule(house, old.plan.plan.id)
    gone, stays = await patient_of(house, "H-1"), await patient_of(house, "H-2")
    await house.store.merge(Merge(house.by, "request-9", gone, stays))
    await overrule(house, new.plan.plan.id, 2)
    await end(house, new.plan.plan.id)
    told = contents(house.path)
    assert all(word in told for word in (b"Fainted twice.", b"S-31", b"A fall."))
    assert erase_patient(house.path, house.clock, house.by.org, stays).overwritten
    left = contents(house.path)
    assert not any(word in left for word in (b"Fainted twice.", b"S-31", b"A fall."))
    assert verify_audit(house.path).sound


async def test_the_trail_still_tells_what_was_done_and_that_it_was_erased(house: House) -> None:
    await house.store.keep(house.new("H-1", 1))
    gone = await patient_of(house, "H-1")
    erase_patient(house.path, house.clock, house.by.org, gone)
    told = sql_of(house.path, "SELECT json_extract(body, '$.action') FROM audit ORDER BY chain")
    assert told == [("screen.record",), ("organisation.create",), ("patient.erase",)]


async def test_the_service_goes_on_and_the_same_person_may_come_again(house: House) -> None:
    first = await house.store.keep(house.new("H-1", 1))
    gone = await patient_of(house, "H-1")
    erase_patient(house.path, house.clock, house.by.org, gone)
    again = await house.store.keep(house.new("H-1", 2))
    assert again.record.patient_id == gone
    assert again.plan.plan.replaces is None
    assert await house.store.screen(house.by.org, first.record.id) is None
    assert verify_audit(house.path).sound


async def test_those_merged_into_a_patient_go_along(house: House) -> None:
    await house.store.keep(house.new("OLD-1", 1))
    await house.store.keep(house.new("NEW-2", 2))
    old, new = await patient_of(house, "OLD-1"), await patient_of(house, "NEW-2")
    await house.store.merge(Merge(house.by, "r-1", old, new))
    with pytest.raises(LookupError, match="was merged into"):
        erase_patient(house.path, house.clock, house.by.org, old)
    erased = erase_patient(house.path, house.clock, house.by.org, new)
    assert (erased.rows["screen"], erased.rows["merged patient"]) == (2, 1)
    assert sql_of(house.path, "SELECT count(*) FROM patient_id") == [(0,)]
    assert sql_of(house.path, "SELECT count(*) FROM patient") == [(0,)]


async def test_nobody_of_another_organisation_is_touched(house: House) -> None:
    await house.store.keep(house.new("H-1", 1))
    patient = await patient_of(house, "H-1")
    with pytest.raises(LookupError, match="no patient"):
        erase_patient(house.path, house.clock, "another", patient)
    assert await house.store.patient(house.by.org, patient) is not None


async def test_who_was_not_seen_for_long_is_found(house: House) -> None:
    await house.store.keep(house.new("H-1", 1))
    old = await patient_of(house, "H-1")
    house.clock.go_on(days=400)
    await house.store.keep(house.new("H-2", 1))
    new = await patient_of(house, "H-2")
    since = house.clock() - timedelta(days=365)
    assert unseen_since(house.path, house.by.org, since) == (old,)
    assert unseen_since(house.path, house.by.org, house.clock() + timedelta(days=1)) == tuple(
        sorted((old, new))
    )
    with pytest.raises(LookupError, match="no organisation another"):
        unseen_since(house.path, "another", since)


async def test_a_new_screen_of_a_merged_record_keeps_the_whole_patient(house: House) -> None:
    await house.store.keep(house.new("H-1", 1))
    await house.store.keep(house.new("H-2", 1))
    old, new = await patient_of(house, "H-1"), await patient_of(house, "H-2")
    await house.store.merge(Merge(house.by, "r-1", old, new))
    house.clock.go_on(days=400)
    await house.store.keep(house.new("H-1", 2))
    assert unseen_since(house.path, house.by.org, house.clock() - timedelta(days=1)) == ()


@ON_A_FILE
async def test_while_somebody_reads_it_is_said_that_the_bytes_leave_later(
    house: House, tmp_path: Path
) -> None:
    await house.store.keep(house.new("GONE-1", 1))
    gone = await patient_of(house, "GONE-1")
    with short_read(house.path) as reading:
        reading.execute("SELECT count(*) FROM screen").fetchone()
        erased = erase_patient(house.path, house.clock, house.by.org, gone)
    assert not erased.overwritten
    back_up(house.file, house.clock, tmp_path / "copy.db")
    assert b"GONE-1" not in contents(tmp_path / "copy.db")
