"""What does a resource that keeps each profile look like? Made from screens by the real rules."""

from collections.abc import Iterable, Iterator
from datetime import timedelta

from msgspec.structs import replace

from service.domain.record import Answer, ScreenRecord, ScreenStatus
from service.domain.screen import Screen
from service.fhir.bundle import bundle_of
from service.fhir.definitions.profiles import PROFILES
from service.fhir.site import Site
from service.fhir.structs import Resource
from service.fhir.text import zoned
from service.rules.norms import score_tests
from service.rules.plan import PlanIds, build_plan
from service.rules.profile import profile_of

_SOON = timedelta(minutes=2)
_SENDER = "Example ward"


def examples(site: Site, screens: Iterable[Screen]) -> dict[str, Resource]:
    """By the name of the profile: the first resource made from the screens that names it."""
    names = {site.profile(name): name for name in PROFILES}
    found: dict[str, Resource] = {}
    for number, screen in enumerate(screens, 1):
        for resource in _resources(site, answer_to(site, screen, number)):
            for url in resource.meta.profile:
                if url in names:
                    found.setdefault(names[url], resource)
    return dict(sorted(found.items()))


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


def _resources(site: Site, answer: Answer) -> Iterator[Resource]:
    for entry in bundle_of(site, answer).entry:
        yield entry.resource
        yield from getattr(entry.resource, "contained", ())


def _id(kind: int, number: int) -> str:
    return f"{kind:08d}-0000-7000-8000-{number:012d}"
