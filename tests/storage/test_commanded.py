"""Do commands leave their mark beside the serving process, in a chain of their own?"""

from service.storage.chain import COMMANDS, SERVING
from service.storage.keys import create_key
from service.storage.rows import AuditRow
from service.storage.verify import verify_audit
from tests.storage.made import House, sql_of


async def test_a_command_extends_its_own_chain_while_the_service_writes(house: House) -> None:
    await house.store.keep(house.new())
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    await house.store.keep(house.new(at=1))
    rows = [AuditRow(*row) for row in sql_of(house.path, "SELECT * FROM audit")]
    chains = sorted((row.chain, row.seq) for row in rows)
    assert chains == [(SERVING, 1), (SERVING, 2), (COMMANDS, 1), (COMMANDS, 2)]
    last = max(row for row in rows if row.chain == COMMANDS)
    assert b'"action":"key.create"' in last.body
    assert f'"target":"{made.info.id}"'.encode() in last.body
    assert verify_audit(house.path).sound
