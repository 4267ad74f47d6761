"""What is a database of some size, made in a second?

One organisation has nearly all rows, as where a hospital has a server to itself: that it is named
finds nothing. Ids are in the order of time, as the service's own are.
"""

from typing import Any

import psycopg

from service.storage.place import Server

ORG = "org-1"
PATIENTS = 2_000
SCREENS = 20_000
MINUTE = 60_000_000

_BODY = "convert_to(repeat(md5(n::text), 10), 'UTF8')"
_ID = "lpad(to_hex(n), 36, '0')"
_WHOSE = f"'p-' || lpad((n % {PATIENTS})::text, 6, '0')"
_ORG = f"CASE WHEN n % 200 = 1 THEN 'org-2' ELSE '{ORG}' END"
_AT = f"n::bigint * {MINUTE}"


def _rows(many: int, columns: str) -> str:
    return f"SELECT {columns} FROM generate_series(1, {many}) AS n"  # noqa: S608 - our own words


_TABLES = {
    "organisation": _rows(2, f"'org-' || n, 'House', 'UTC', {_BODY}, {_BODY}, 0"),
    "credential": _rows(
        50, f"{_ID}, {_ORG}, 'ward', 'prefix-' || n, {_BODY}, 0, NULL, NULL, '', NULL"
    ),
    "patient": _rows(
        PATIENTS,
        f"{_ORG}, {_WHOSE}, n, {_ID}, {_ID}, {_AT}, CASE WHEN n % 20 = 0 THEN {_AT} END,"
        f" CASE WHEN n % 50 = 8 THEN 'p-' || lpad((n - 1)::text, 6, '0') END, 1, {_BODY}",
    ),
    "patient_id": _rows(PATIENTS, f"{_ORG}, 'urn:oid:2.999.7', 'H-' || n, {_WHOSE}"),
    "screen": _rows(
        SCREENS,
        f"{_ID}, 1, {_ORG}, {_WHOSE}, {_AT}, {_AT} + 7, 'final',"
        f" CASE WHEN n % 3 = 0 THEN 's-' || n END, {_BODY}, 'book', 1, {_BODY}",
    )
    + " UNION ALL "
    + _rows(
        SCREENS // 20,
        f"{_ID}, 2, {_ORG}, {_WHOSE}, {_AT} + 1, {_AT} + 9, 'amended', NULL, {_BODY}, 'book', 1,"
        f" {_BODY}",
    ),
    "plan": _rows(
        SCREENS,
        f"{_ID}, {_ORG}, {_WHOSE}, {_ID}, 1, {_AT}, {_AT} + {1440 * MINUTE}, 'book', 1, {_BODY}",
    ),
    "plan_event": _rows(
        SCREENS, f"{_ID}, 1, {_ORG}, {_WHOSE}, 2 * n, {_AT}, 'created', 'ward', {_BODY}"
    )
    + " UNION ALL "
    + _rows(
        SCREENS, f"{_ID}, 2, {_ORG}, {_WHOSE}, 2 * n + 1, {_AT} + 5, 'superseded', 'ward', {_BODY}"
    ),
    "idempotency": _rows(
        SCREENS, f"{_ORG}, 'cred-1', 'POST /v1/screens', 'key-' || n, 'digest', {_ID}, {_AT}"
    ),
    "audit": _rows(2 * SCREENS, f"{_ORG}, 1 + n % 2, n, {_AT}, {_BODY}, {_BODY}"),
    "audit_seal": _rows(2_000, f"{_ORG}, n, {_AT}, {_BODY}, {_BODY}"),
    "outbox": _rows(
        5_000,
        f"{_ID}, {_ORG}, {_WHOSE}, n, 'board', {_ID}, {_AT}, 0,"
        " CASE WHEN n < 4990 THEN 1::bigint END",
    ),
}

GIVEN: dict[str, Any] = {
    "org": ORG,
    "id": f"{7 * 16 + 8:x}".rjust(36, "0"),
    "patient": "p-000007",
    "member": "p-000007",
    "merged_into": "p-000007",
    "system": "urn:oid:2.999.7",
    "value": "H-7",
    "credential": "cred-1",
    "operation": "POST /v1/screens",
    "key": "key-7",
    "prefix": "prefix-7",
    "source_id": "s-9",
    "screen": "8".rjust(36, "0"),
    "plan": "8".rjust(36, "0"),
    "version": 1,
    "chain": 1,
    "seq": 20_000,
    "n": 1_000,
    "now": 600 * MINUTE,
    "before": 10 * MINUTE,
    "limit": 50,
    "low": 5_000 * MINUTE,
    "high": 15_000 * MINUTE,
    "after_at": 10_000 * MINUTE,
    "after_valid_from": 10_000 * MINUTE,
    "after_observed": 10_000 * MINUTE,
    "after_recorded": 10_000 * MINUTE,
    "after_id": f"{10_000:x}".rjust(36, "0"),
    "after_version": 1,
    "after_chain": 1,
    "after_seq": 10_000,
    "after_system": "",
    "of_org": ORG,
    "of_id": "p-000007",
    "of_patient": "p-000007",
    "gone": "p-000007",
    "into": "p-000008",
    "at": 1,
    "rev": 1,
    "schema_no": 1,
    "body": "",
}
"""A value for every name that a statement has; the patient ``p-000007``, whom another one was
merged into, has ten screens."""
_OTHERWISE = {"patients_after": {"after_id": "p-001000"}, "patient": {"id": "p-000007"}}


def given(name: str) -> dict[str, Any]:
    """The values for the statement ``name``."""
    return GIVEN | _OTHERWISE.get(name, {})


def fill(server: Server) -> None:
    with psycopg.connect(server.write, autocommit=True) as connection:
        for table, rows in _TABLES.items():
            connection.execute(f'INSERT INTO "{table}" {rows}'.encode())
        connection.execute("VACUUM ANALYZE")
