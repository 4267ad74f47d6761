"""How is a recorded screen corrected?"""

from service.application.answer import answer_now
from service.application.assess import assess
from service.application.ports import Correction
from service.application.read_screen import kept_screen
from service.application.service import Call, Service
from service.domain.problem import Fault, Refused
from service.domain.record import Answer
from service.domain.screen import Screen


async def correct_screen(
    service: Service,
    call: Call,
    screen_id: str,
    expected_version: int,
    reason: str,
    content: Screen,
) -> Answer:
    """A new version of the screen with a new plan that replaces the old one.

    The person and the sender's id stay as they are. Raises NotFound, StaleVersion, Refused.
    """
    said = await correction_of(service, call, screen_id, expected_version, reason, content)
    return answer_now(await service.records.correct(said), service.clock())


async def correction_of(
    service: Service,
    call: Call,
    screen_id: str,
    expected_version: int,
    reason: str,
    content: Screen,
) -> Correction:
    """The correction with what the rules make of it. Raises NotFound, Refused."""
    kept = await kept_screen(service, call, screen_id, action="screen.correct")
    before = kept.record.content
    faults = tuple(
        Fault(path, "correction.unchanged", f"A correction cannot change {words}.")
        for path, words, same in (
            (
                "/patient/identifier",
                "whose screen it is; withdraw it and post a new one",
                before.patient.identifier == content.patient.identifier,
            ),
            ("/source_id", "the sender's id of the screen", before.source_id == content.source_id),
        )
        if not same
    )
    if faults:
        raise Refused("The correction changes what must stay.", faults)
    assessment = await assess(service, call, content, screen_id, expected_version + 1)
    return Correction(
        call.principal, call.request_id, screen_id, expected_version, reason, content, assessment
    )
