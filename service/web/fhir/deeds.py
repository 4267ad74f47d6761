"""How is what was asked for done, alone or together with others, and what came of it?"""

from collections.abc import Awaitable, Callable, Sequence

from msgspec import Struct

from service.application.answer import answer_now
from service.application.correct_screen import correct_screen
from service.application.ports import Undone
from service.application.record_screen import record_screen
from service.application.record_screens import Change, Correcting, Recording, record_screens
from service.application.withdraw_screen import withdraw_screen
from service.domain.problem import (
    Conflict,
    Fault,
    KeyReused,
    NotFound,
    Problem,
    Refused,
    StaleVersion,
    VersionMissing,
)
from service.domain.record import Answer
from service.fhir.read_envelope import Draft
from service.fhir.read_response import refused, retold
from service.fhir.site import Site
from service.web.fhir.conditions import Returned
from service.web.fhir.content import version_headers
from service.web.fhir.intents import Desk, Intent
from service.web.refusals import BadRequest, IdsGivenHere
from service.web.scopes import allow, needs

_RULES: dict[type[Problem], str] = {
    BadRequest: "bundle.condition",
    Conflict: "bundle.conflict",
    IdsGivenHere: "bundle.not_found",
    KeyReused: "bundle.key_reused",
    NotFound: "bundle.not_found",
    StaleVersion: "bundle.stale",
    VersionMissing: "bundle.version_missing",
}

_TRIES = 5


class Done(Struct, frozen=True):
    """What came of it: the HTTP status, and the answer as it stands now. ``found``: it was kept
    before, and nothing was done."""

    status: int
    answer: Answer
    replayed: bool = False
    found: bool = False


async def done_alone(desk: Desk, settle: Callable[[], Awaitable[Intent]]) -> Done:
    """Settle what is asked for and do it. What hangs on what was found is settled anew where
    another came first."""
    for _ in range(_TRIES):
        intent = await settle()
        try:
            return await _done(desk, intent)
        except (Refused, Conflict, StaleVersion) as problem:
            if not (intent.conditional and _came_first(problem)):
                raise placed(intent.draft, problem) from problem
    raise Conflict("Others change the same response at this moment: send it again.")


def _came_first(problem: Problem) -> bool:
    taken = any(fault.rule == "source_id.taken" for fault in problem.faults)
    return taken or isinstance(problem, StaleVersion)


async def done_together(desk: Desk, intents: Sequence[Intent]) -> list[Done]:
    """All of them in one transaction, or none. Raises one problem that tells every fault."""
    asked: list[tuple[Intent, Change]] = [
        (one, one.change) for one in intents if one.change is not None
    ]
    try:
        recorded = await record_screens(
            desk.house.service, desk.call, [change for _, change in asked]
        )
    except Undone as undone:
        raise together(
            [(asked[index][0].draft, one) for index, one in undone.problems.items()]
        ) from undone
    answers = iter(recorded)
    told = []
    for intent in intents:
        if intent.change is None:
            told.append(_found(desk, intent))
            continue
        one = next(answers)
        status = 201 if isinstance(intent.change, Recording) else 200
        told.append(Done(status, one.answer, one.replayed))
    return told


def together(problems: Sequence[tuple[Draft, Problem]], also: Sequence[Fault] = ()) -> Problem:
    """One problem for several: of the first kind that is not a fault of the body, if any.
    ``also``: faults of the Bundle itself, which come first."""
    faults: list[Fault] = [*also]
    kinds: list[Problem] = []
    for draft, problem in problems:
        told = placed(draft, problem)
        entry = draft.place.removesuffix("/resource")
        if isinstance(problem, Refused) and not told.faults and _is_told(entry, also):
            continue
        rule = _RULES.get(type(problem), "bundle.condition")
        faults.extend(told.faults or (Fault(entry, rule, told.detail),))
        if not isinstance(problem, Refused):
            kinds.append(problem)
    if not kinds or also:
        return refused(faults)
    kind = NotFound if isinstance(kinds[0], NotFound) else type(kinds[0])
    return kind("Nothing of the transaction was kept.", tuple(faults))


def _is_told(entry: str, also: Sequence[Fault]) -> bool:
    """Whether what is wrong with the entry is among the faults of the Bundle."""
    return any(fault.path.startswith(f"{entry}/") for fault in also)


def placed(draft: Draft, problem: Problem) -> Problem:
    """The same problem, its faults where the answers were sent. Faults that are placed in what
    was sent already stay as they are."""
    root = f"/{draft.place.split('/')[1]}/"
    if not problem.faults or any(f"{fault.path}/".startswith(root) for fault in problem.faults):
        return problem
    return type(problem)(problem.detail, retold(draft, problem.faults))


def headers_of(site: Site, done: Done) -> dict[str, str]:
    """Where it is, which version it has, and the plan that was made of it."""
    screen = done.answer.screen
    headers = {
        "Location": location_of(site, done.answer),
        "Link": f'<{site.base}/CarePlan/{done.answer.plan.id}>; rel="related"',
        **version_headers(str(screen.version), screen.recorded_at),
    }
    if done.replayed:
        headers["Idempotency-Replayed"] = "true"
    return headers


def location_of(site: Site, answer: Answer) -> str:
    screen = answer.screen
    return f"{site.base}/QuestionnaireResponse/{screen.id}/_history/{screen.version}"


async def _done(desk: Desk, intent: Intent) -> Done:
    service, call, change = desk.house.service, desk.call, intent.change
    if change is None:
        return _found(desk, intent)
    if isinstance(change, Recording):
        recorded = await record_screen(service, call, change.content, change.once)
        found = intent.conditional and recorded.replayed and change.once is None
        return Done(200 if found else 201, recorded.answer, recorded.replayed and not found)
    if isinstance(change, Correcting):
        answer = await correct_screen(
            service, call, change.screen_id, change.expected_version, change.reason, change.content
        )
        return Done(200, answer)
    withdrawn = await withdraw_screen(
        service, call, change.screen_id, change.expected_version, change.reason
    )
    return Done(200, withdrawn)


def _found(desk: Desk, intent: Intent) -> Done:
    if intent.found is None:
        raise NotFound("No such response.")
    return Done(200, answer_now(intent.found, desk.house.service.clock()), found=True)


def shown(desk: Desk, done: Done, wanted: Returned) -> Returned:
    """What is sent back: what was found is shown to whom it may be read by, and to no other."""
    if done.found and not allow(desk.call, needs("QuestionnaireResponse", "r")):
        return Returned.MINIMAL
    return wanted
