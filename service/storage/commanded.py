"""How does a command at the keyboard leave its mark in the audit trail?"""

import sqlite3

from service.application.ports import AuditEntry, Clock
from service.domain.record import Principal
from service.storage import statements_sqlite as sql
from service.storage.chain import COMMANDS, Head, chain_start, entry_body, next_entry
from service.storage.rows import AuditRow
from service.storage.times import to_micros

_WHO = "command line"


def audit_command(
    connection: sqlite3.Connection, clock: Clock, org: str, action: str, target: str
) -> None:
    """Extend the commands' own chain, inside the command's transaction."""
    found = connection.execute(sql.CHAIN_HEAD, {"org": org, "chain": COMMANDS}).fetchone()
    last = None if found is None else AuditRow(*found)
    head = Head(last.seq, last.digest) if last else chain_start(org, COMMANDS)
    entry = AuditEntry(action, Principal(org, "", _WHO), "", "ok", None, target)
    row = next_entry(org, COMMANDS, head, to_micros(clock()), entry_body(entry))
    connection.execute(sql.INSERT_AUDIT, row)
