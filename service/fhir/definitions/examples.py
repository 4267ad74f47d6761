"""What does a resource that keeps each profile look like? Made from screens by the real rules."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta
from itertools import pairwise

from msgspec.structs import replace

from service.domain.lifecycle import as_of
from service.domain.overruling import Decision
from service.domain.plan import PlannedMove
from service.domain.record import Answer, PlanEvent, PlanEventKind, ScreenRecord, ScreenStatus
from service.domain.screen import Screen
from service.domain.value import Clinician, Identifier
from service.fhir.bundle import bundle_of
from service.fhir.definitions.profiles import PROFILES
from service.fhir.site import Site
from service.fhir.software import device_of
from service.fhir.structs import Resource
from service.fhir.text import zoned
from service.rules.norms import score_tests
from service.rules.overrule import methods_for, overrule
from service.rules.plan import PlanIds, build_plan
from service.rules.profile import profile_of

_SOON = timedelta(minutes=2)
_LATER = timedelta(hours=1)
_SENDER = "Example ward"
_BY = Clinician(
    identifier=Identifier(system="urn:oid:2.999.9", value="S-1"), role="physiotherapist"
)
_ASKED = ((-1, "Did so with me this morning."), (1, "Tired after the night."))
"""How far along the methods, which stand in the order of support, a choice is, and why."""
_TOLD_AGAIN = ("care-plan", "provenance")
"""Profiles of which it is shown too what comes of a clinician's choices and of an early end."""


def examples(site: Site, screens: Iterable[Screen]) -> dict[str, Resource]:
    """By the name of the profile: the first resource made from the screens that names it. Then by
    that name and what happened: a plan with clinicians' choices, and one that was ended early."""
    answers = [answer_to(site, screen, number) for number, screen in enumerate(screens, 1)]
    found: dict[str, Resource] = {}
    for answer in answers:
        for name, resource in _named(site, answer):
            found.setdefault(name, resource)
    for what, (answer, events) in _changed(site, answers[1:]).items():
        for name, resource in _named(site, answer, events):
            if name in _TOLD_AGAIN:
                found[f"{name}-{what}"] = resource
    return dict(sorted(found.items()))


def profile_shown(name: str) -> str:
    """The profile that the example of that name keeps."""
    return name if name in PROFILES else name.rpartition("-")[0]


def answer_to(site: Site, screen: Screen, number: int) -> Answer:
    """The answer to a screen, with ids that are the same each time."""
    record = ScreenRecord(
        _id(1, number), 1, ScreenStatus.FINAL, _id(2, number),
        zoned(screen.observed_at) + _SOON, _SENDER, screen,
    )  # fmt: skip
    tests = score_tests(site.book, screen)
    profile = profile_of(site.book, screen, tests)
    plan = build_plan(site.book, screen, profile, PlanIds(_id(3, number), record.id, 1))
    plan = replace(plan, patient_id=record.patient_id, version=1)
    return Answer(record, profile, tests, plan, plan.rule_book)


def _named(
    site: Site, answer: Answer, events: tuple[PlanEvent, ...] = ()
) -> Iterator[tuple[str, Resource]]:
    """Each resource that answers, by the name of its profile; the software by itself, as it has
    no narrative where it is contained."""
    names = {site.profile(name): name for name in PROFILES}
    told = [entry.resource for entry in bundle_of(site, answer, events).entry]
    for one in (*told, device_of(site, answer.plan.rule_book)):
        yield from [(names[url], one) for url in one.meta.profile if url in names]


def _changed(
    site: Site, answers: Sequence[Answer]
) -> dict[str, tuple[Answer, tuple[PlanEvent, ...]]]:
    """The first plan in which one move can be chosen with less support and one with more, and
    the next one, as ended an hour after it was made."""
    for answer, following in pairwise(answers):
        decisions = _decisions(site, answer)
        if len(decisions) == len(_ASKED):
            chosen = [_overruled(site, answer, *one) for one in enumerate(decisions, 2)]
            return {
                "overruled": _after(answer, *chosen),
                "ended": _after(following, _ended(following)),
            }
    return {}


def _decisions(site: Site, answer: Answer) -> list[Decision]:
    """For the first move that has one, the method that supports next less; for another, the one
    that supports next more."""
    decisions, moves = [], list(answer.plan.moves)
    for step, reason in _ASKED:
        for one in moves:
            method = _beside(site, one, step)
            if method is not None:
                decisions.append(Decision(move=one.move, method=method, reason=reason, by=_BY))
                moves.remove(one)
                break
    return decisions


def _beside(site: Site, move: PlannedMove, step: int) -> str | None:
    serve = methods_for(site.book, move.move)
    place = serve.index(move.method) + step
    return serve[place] if 0 <= place < len(serve) else None


def _overruled(site: Site, answer: Answer, number: int, decision: Decision) -> PlanEvent:
    said = overrule(site.book, answer.screen.content, answer.profile, answer.plan, decision)
    return replace(_event(answer, number, PlanEventKind.OVERRULED), overruled=said)


def _ended(answer: Answer) -> PlanEvent:
    return replace(
        _event(answer, 2, PlanEventKind.LAPSED), reason=answer.plan.rescreen_when[0].text
    )


def _event(answer: Answer, number: int, kind: PlanEventKind) -> PlanEvent:
    at = answer.screen.recorded_at + (number - 1) * _LATER
    return PlanEvent(answer.plan.id, number, kind, at, _SENDER)


def _after(answer: Answer, *events: PlanEvent) -> tuple[Answer, tuple[PlanEvent, ...]]:
    """The answer as it stands after all that happened to its plan, and that."""
    told = (_event(answer, 1, PlanEventKind.CREATED), *events)
    plan = as_of(answer.plan, told, is_current=True, now=told[-1].at)
    return replace(answer, plan=plan), told


def _id(kind: int, number: int) -> str:
    return f"{kind:08d}-0000-7000-8000-{number:012d}"
