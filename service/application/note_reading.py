"""Is a current plan read while the audit trail cannot be written?

Who stands at the bedside needs the plan that holds now, so that reading goes on unless the
hospital closed it: the entry goes to whoever was named for it. Every other reading, and every
write, is refused while nothing can be noted.
"""

from service.application.ports import AuditEntry
from service.application.service import Service
from service.domain.problem import Unavailable


async def note_reading_of_current(service: Service, entry: AuditEntry) -> None:
    """Raises Unavailable where such readings are closed."""
    try:
        await service.records.audit(entry)
    except Unavailable:
        if service.unaudited is None:
            raise
        service.unaudited(entry)
