"""What would the answer be, if nothing were kept?"""

from service.application.assess import assess
from service.application.service import Call, Service
from service.domain.record import Answer, ScreenRecord, ScreenStatus
from service.domain.screen import Screen


async def preview_screen(service: Service, call: Call, content: Screen) -> Answer:
    """The same answer as recording gives, with an empty patient id and nothing kept but audit."""
    screen_id = service.new_id()
    assessment = await assess(service, call, content, screen_id, version=1)
    record = ScreenRecord(
        id=screen_id,
        version=1,
        status=ScreenStatus.FINAL,
        patient_id="",
        recorded_at=service.clock(),
        recorded_by=call.principal.name,
        content=content,
    )
    await service.records.audit(call.entry("screen.preview", "ok"))
    plan = assessment.plan
    return Answer(record, assessment.profile, assessment.tests, plan, plan.rule_book)
