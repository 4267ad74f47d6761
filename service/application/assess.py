"""What do the rules make of a screen?"""

from service.application.ports import Assessment
from service.application.service import Call, Service
from service.domain.problem import Refused
from service.domain.score import EarlierScore
from service.domain.screen import Screen
from service.domain.sense import faults_of
from service.rules.features import pack
from service.rules.norms import score_tests
from service.rules.plan import PlanIds, build_plan
from service.rules.profile import profile_of
from service.rules.score_change import with_changes


async def assess(
    service: Service, call: Call, content: Screen, screen_id: str, version: int
) -> Assessment:
    """Profile, test scores and plan of ``content``. Raises Refused with every fault of sense."""
    faults = faults_of(content, service.clock())
    if faults:
        raise Refused("The screen contradicts itself or cannot be.", faults)
    book = service.book
    tests = score_tests(book, content)
    if tests:
        tests = with_changes(book, tests, await _earlier(service, call, content, screen_id))
    ids = PlanIds(service.new_id(), screen_id, version)
    with service.span("assess"):
        profile = profile_of(book, content, tests)
        return Assessment(profile, tests, build_plan(book, content, profile, ids), pack(profile))


async def _earlier(
    service: Service, call: Call, content: Screen, screen_id: str
) -> tuple[EarlierScore, ...]:
    """The person's scores from before this screen, newest first; a correction is not held
    against what it corrects."""
    return await service.records.earlier_scores(
        call.principal.org, content.patient.identifier, content.observed_at, but=screen_id
    )
