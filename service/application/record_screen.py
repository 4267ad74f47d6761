"""How is a screen recorded: the main job?"""

from msgspec import Struct

from service.application.answer import answer_now
from service.application.assess import assess
from service.application.ports import NewScreen, Once
from service.application.service import Call, Service
from service.domain.record import Answer
from service.domain.screen import Screen


class Recorded(Struct, frozen=True):
    """The answer; ``replayed`` when the same key and body had been answered before."""

    answer: Answer
    replayed: bool


async def record_screen(
    service: Service, call: Call, content: Screen, once: Once | None
) -> Recorded:
    """Score ``content``, choose, plan, and keep all of it durably.

    Raises Refused where the screen makes no sense, KeyReused, Conflict, Unavailable.
    """
    screen_id = service.new_id()
    assessment = await assess(service, call, content, screen_id, version=1)
    kept = await service.records.keep(
        NewScreen(call.principal, call.request_id, screen_id, content, assessment, once)
    )
    return Recorded(answer_now(kept, service.clock()), kept.replayed)
