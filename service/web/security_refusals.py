"""Where is it written that a credential was refused, so that no flood of them fills the disk?

Every refusal is counted. The log gets a line for each reason, without the credential. Where it
is known whose credential it is, that organisation's audit trail gets an entry. Both have at most
one of a kind each minute, with the number of those since the one before.
"""

import logging
import time
from collections import Counter
from collections.abc import Awaitable, Callable

from service.application.note_refusal import is_noted, refused
from service.application.ports import AuditEntry
from service.application.service import Call, Service
from service.domain.problem import Problem, Unavailable
from service.domain.record import Principal, Refusal

QUIET_SECONDS = 60.0
MOST_KINDS = 1000

_log = logging.getLogger("stanchion.security")

Audit = Callable[[AuditEntry], Awaitable[None]]
_Kind = tuple[str, ...]


class Refusals:
    """``counts``: by reason, since the start."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.counts: Counter[str] = Counter()
        self._clock = clock
        self._told: dict[_Kind, float] = {}
        self._untold: Counter[_Kind] = Counter()

    async def note(self, refusal: Refusal, request_id: str, audit: Audit) -> None:
        """A credential that opens nothing. Never raises for want of the audit trail: the caller
        is refused either way."""
        self.counts[refusal.reason] += 1
        number = self._due(("log", refusal.reason))
        if number:
            _log.warning("credential refused: %s (%d)", refusal.reason, number)
        if refusal.known is not None:
            outcome = refusal.reason
            await self._audit("credential.refuse", refusal.known, outcome, request_id, audit)

    async def note_scope(
        self, principal: Principal, scope: str, request_id: str, audit: Audit
    ) -> None:
        """A good credential that lacks a scope."""
        self.counts["insufficient_scope"] += 1
        outcome = f"lacks {scope}"
        await self._audit("scope.refuse", principal, outcome, request_id, audit)

    async def note_deed(self, problem: Problem, service: Service, call: Call, action: str) -> None:
        """Something that was to be done to a patient's data, refused and not noted yet: by what
        kind of fault, and never with what was sent. Nothing was shown, so that the refusal stands
        though the trail cannot be written."""
        if is_noted(problem) or isinstance(problem, Unavailable):
            return
        try:
            await refused(service, call, action, problem)
        except Problem as unwritten:
            _log.error("a refusal is not in the audit trail: %s", unwritten.detail)

    async def _audit(
        self, action: str, by: Principal, outcome: str, request_id: str, audit: Audit
    ) -> None:
        number = self._due((action, by.org, by.credential, outcome))
        if not number:
            return
        said = outcome if number == 1 else f"{outcome} ({number} times)"
        try:
            await audit(AuditEntry(action, by, request_id, said))
        except Problem as problem:
            _log.error("a refusal is not in the audit trail: %s", problem.detail)

    def _due(self, kind: _Kind) -> int:
        """How many of a kind are to be told of now; 0 where one was told of just before."""
        now = self._clock()
        told = self._told.get(kind)
        if told is not None and now - told < QUIET_SECONDS:
            self._untold[kind] += 1
            return 0
        if told is None and len(self._told) >= MOST_KINDS:
            self._forget(now)
            if len(self._told) >= MOST_KINDS:
                return 0
        self._told[kind] = now
        return 1 + self._untold.pop(kind, 0)

    def _forget(self, now: float) -> None:
        old = [kind for kind, told in self._told.items() if now - told >= QUIET_SECONDS]
        for kind in old:
            del self._told[kind]
            self._untold.pop(kind, None)
