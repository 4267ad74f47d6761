"""What does one row of each table hold?

Written by service.storage.generate from the tables; change those, not this file.
"""

from typing import NamedTuple


class AuditRow(NamedTuple):
    org: str
    chain: int
    seq: int
    at: int
    body: bytes
    digest: bytes


class AuditSealRow(NamedTuple):
    org: str
    n: int
    at: int
    body: bytes
    digest: bytes


class CredentialRow(NamedTuple):
    id: str
    org: str
    name: str
    prefix: str
    hash: bytes
    created: int
    expires: int | None
    revoked: int | None
    scopes: str
    last_used: int | None


class IdempotencyRow(NamedTuple):
    org: str
    credential: str
    operation: str
    key: str
    digest: str
    screen: str
    at: int


class OrganisationRow(NamedTuple):
    org: str
    name: str
    time_zone: str
    settings: bytes
    patient_key: bytes
    created: int


class OutboxRow(NamedTuple):
    id: str
    org: str
    patient: str
    rev: int
    target: str
    ref: str
    next_try: int
    tries: int
    done: int | None


class PatientRow(NamedTuple):
    org: str
    id: str
    rev: int
    current_plan: str | None
    current_screen: str | None
    current_observed: int | None
    current_until: int | None
    merged_into: str | None
    schema_no: int
    body: bytes


class PatientIdRow(NamedTuple):
    org: str
    system: str
    value: str
    patient: str


class PlanRow(NamedTuple):
    id: str
    org: str
    patient: str
    screen: str
    screen_version: int
    valid_from: int
    valid_until: int
    rule_book: str
    schema_no: int
    body: bytes


class PlanEventRow(NamedTuple):
    plan: str
    version: int
    org: str
    patient: str
    rev: int
    at: int
    kind: str
    actor: str
    body: bytes


class ScreenRow(NamedTuple):
    id: str
    version: int
    org: str
    patient: str
    observed: int
    recorded: int
    status: str
    source_id: str | None
    features: bytes
    rule_book: str
    schema_no: int
    body: bytes
