"""What can be done to the trail between two seals, and when does it show?"""

import pytest

from service.domain.problem import Conflict
from service.storage.chain import Head, next_entry
from service.storage.rows import AuditRow
from service.storage.store import Store, open_store
from service.storage.verify import verify_audit
from tests.storage.made import ON_A_FILE, House, open_house, sql_of
from tests.storage.test_verify import kinds, sealed, write_anew


async def test_what_was_written_and_cut_between_two_seals_is_not_seen(house: House) -> None:
    """The limit of what seals can show, told in docs/audit.md; it shows with the next entry."""
    held = await sealed(house)
    house.store = (await open_house(house.path, house.clock)).store
    await house.store.keep(house.new("H-9", 30))
    sql_of(house.path, "DELETE FROM audit WHERE org = ? AND chain = 1 AND seq = 6", house.by.org)
    assert verify_audit(house.path, held).sound
    await house.store.keep(house.new("H-10", 40))
    assert kinds(house, held) == {"gap"}


async def test_an_entry_changed_between_two_seals_shows_with_the_next_one(house: House) -> None:
    """Even where whoever changed it knows how the chain is made."""
    held = await sealed(house)
    house.store = (await open_house(house.path, house.clock)).store
    await house.store.keep(house.new("H-9", 30))
    write_anew(house, house.by.org, from_seq=6)
    assert verify_audit(house.path, held).sound
    await house.store.keep(house.new("H-10", 40))
    assert kinds(house, held) == {"edited"}


@ON_A_FILE
async def test_an_entry_that_somebody_adds_is_seen_by_the_next_write_alone(house: House) -> None:
    """With a right digest it looks like any other; the writer of a file stands still over it."""
    await house.store.keep(house.new("H-1"))
    (last,) = sql_of(house.path, "SELECT * FROM audit WHERE org = ? AND chain = 1", house.by.org)
    head = Head(AuditRow(*last).seq, AuditRow(*last).digest)
    forged = next_entry(house.by.org, 1, head, AuditRow(*last).at, AuditRow(*last).body)
    sql_of(house.path, "INSERT INTO audit VALUES (?, ?, ?, ?, ?, ?)", *forged)
    assert verify_audit(house.path).sound
    with pytest.raises(Conflict):
        await house.store.keep(house.new("H-2"))
    house.store = await _anew(house)
    await house.store.keep(house.new("H-3"))
    assert verify_audit(house.path).sound


async def _anew(house: House) -> Store:
    await house.store.close()
    store = open_store(house.path, house.clock, house.new_id)
    await store.start()
    return store
