"""What does every use case work with?"""

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from typing import Any

from msgspec import Struct

from service.application.ports import AuditEntry, Clock, NewId, Records
from service.application.search_ports import Searches
from service.domain.record import Principal
from service.rules.book import RuleBook


class Service(Struct, frozen=True):
    """The rule book and the ports, composed once at start. ``unaudited`` is handed the audit
    entry of a current plan's reading that could not be written; None closes such readings.
    ``span`` frames a part of the work whose time somebody may want to know."""

    book: RuleBook
    records: Records
    clock: Clock
    new_id: NewId
    searches: Searches
    unaudited: Callable[[AuditEntry], None] | None = None
    span: Callable[[str], AbstractContextManager[Any]] = nullcontext


class Call(Struct, frozen=True):
    """Who calls, and the id under which logs and audit know this request."""

    principal: Principal
    request_id: str

    def entry(
        self, action: str, outcome: str, patient: str | None = None, target: str | None = None
    ) -> AuditEntry:
        return AuditEntry(action, self.principal, self.request_id, outcome, patient, target)
