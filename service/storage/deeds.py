"""What does each write leave in the audit trail, done or refused?"""

from collections.abc import Callable
from typing import TypeVar

from msgspec.structs import replace

from service.application.ports import AuditEntry, Merge
from service.domain.problem import Problem
from service.storage.batch import Batch
from service.storage.people import join

T = TypeVar("T")


def audited(
    batch: Batch, entry: AuditEntry, decide: Callable[[Batch], Callable[[], T]]
) -> Callable[[], T]:
    """A write that was refused is told to the audit trail like one that was done."""
    try:
        return decide(batch)
    except Problem as problem:
        refused = problem
    batch.audit(replace(entry, outcome=type(refused).__name__))
    refused.noted = True

    def refuse() -> T:
        raise refused

    return refuse


def giving(value: T) -> Callable[[], T]:
    return lambda: value


def noted(batch: Batch, entry: AuditEntry) -> Callable[[], None]:
    batch.audit(entry)
    return giving(None)


def merged(batch: Batch, merge: Merge, entry: AuditEntry) -> str:
    stays = join(batch, merge.principal, merge.patient, merge.into)
    batch.audit(entry)
    return stays
