"""How is a screen that was entered in error taken back?"""

from service.application.answer import answer_now
from service.application.ports import Withdrawal
from service.application.read_screen import kept_screen
from service.application.service import Call, Service
from service.domain.record import Answer


async def withdraw_screen(
    service: Service, call: Call, screen_id: str, expected_version: int | None, reason: str
) -> Answer:
    """Mark the screen withdrawn, keep it, and let the plan before it stand again.

    Raises NotFound, StaleVersion, Unavailable.
    """
    await kept_screen(service, call, screen_id, action="screen.withdraw")
    kept = await service.records.withdraw(
        Withdrawal(call.principal, call.request_id, screen_id, expected_version, reason)
    )
    return answer_now(kept, service.clock())
