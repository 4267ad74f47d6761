"""How do several writes enter the record together, all of them or none?"""

from collections.abc import Callable, Sequence

from msgspec.structs import replace

from service.application.ports import (
    AuditEntry,
    Correction,
    KeptScreen,
    NewScreen,
    Undone,
    Write,
)
from service.domain.problem import Problem
from service.storage.batch import Batch
from service.storage.change_screen import correct, withdraw
from service.storage.keep_screen import Encoded, Stored, encoded, keep

Finish = Callable[[], KeptScreen | Stored]
_UNDONE = "undone"


def all_encoded(writes: Sequence[Write]) -> tuple[Encoded | None, ...]:
    """The documents of the new screens, made before the transaction begins."""
    return tuple(encoded(each) if isinstance(each, NewScreen) else None for each in writes)


def keep_all(
    batch: Batch, writes: Sequence[Write], documents: Sequence[Encoded | None]
) -> Callable[[], tuple[KeptScreen | Stored, ...]]:
    """All of ``writes`` in their order. What it gives raises Undone where one of them could not
    be, which the audit trail tells with all the others."""
    done: list[Finish] = []
    try:
        with batch.all_or_nothing():
            for index, (write, document) in enumerate(zip(writes, documents, strict=True)):
                done.append(_one(batch, index, write, document))
    except Undone as undone:
        return _refused(batch, writes, undone)
    return lambda: tuple([finish() for finish in done])


def _one(batch: Batch, index: int, write: Write, document: Encoded | None) -> Finish:
    try:
        if isinstance(write, NewScreen):
            return keep(batch, write, document or encoded(write))
        stored = correct(batch, write) if isinstance(write, Correction) else withdraw(batch, write)
    except Problem as problem:
        raise Undone({index: problem}) from problem
    return lambda: stored


def _refused(
    batch: Batch, writes: Sequence[Write], undone: Undone
) -> Callable[[], tuple[KeptScreen | Stored, ...]]:
    for index, write in enumerate(writes):
        problem = undone.problems.get(index)
        outcome = _UNDONE if problem is None else type(problem).__name__
        batch.audit(replace(_entry(write), outcome=outcome))

    def refuse() -> tuple[KeptScreen | Stored, ...]:
        raise undone

    return refuse


def _entry(write: Write) -> AuditEntry:
    if isinstance(write, NewScreen):
        return AuditEntry("screen.record", write.principal, write.request_id, "")
    action = "screen.correct" if isinstance(write, Correction) else "screen.withdraw"
    return AuditEntry(action, write.principal, write.request_id, "", None, write.screen_id)
