"""Has any plan of many a fault that somebody finds once clinicians chose what they may choose?

For every move of a sample's plan each method that serves it is chosen once, of drawn screens' plans
some; and what was chosen is then taken back, ended early, replaced or found to be in error.
"""

import json
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any, NamedTuple

import fhirkit
import pytest
from msgspec.structs import replace

from service.application.ports import KeptPlan, Standing, Stood
from service.demo.scenario import here
from service.demo.scenario import read as read_samples
from service.domain.lifecycle import as_of
from service.domain.overruling import set_aside
from service.domain.plan import Plan
from service.domain.record import Answer, PatientRecord, PlanEvent, PlanEventKind
from service.fhir.care_plan import care_plan_of
from service.fhir.definitions.examples import answer_to
from service.fhir.encode import bytes_of
from service.fhir.flag import flags_of
from service.fhir.provenance import provenance_of
from service.fhir.resources import CarePlan, Provenance
from service.fhir.standing_resources import Flag
from service.fhir.validate import read_tree
from service.fhir.validate_ours import known_at
from tests.clients.smart_python import strict
from tests.fhir.answers import SITE, withdrawn
from tests.fhir.broken import faults as our_faults
from tests.fhir.definitions.loaded import package_faults
from tests.fhir.invariants import invariant_faults
from tests.fhir.many_screens import dealt, drawn
from tests.fhir.overruled import choices, ended, every_choice, with_all_taken_back
from tests.fhir.own_checks import resource_faults
from tests.fhir.shapes import Shapes
from tests.fhir.validators import form_faults, parse_faults, read

MANY = 60
SLOW = 20
"""Of so many documents our own checks, which are slow, look at one."""
ROUNDS = 7
"""So many methods serve most moves, beside the one that is computed."""
# Counting the lines of so many plans triples the time and proves nothing.
pytestmark = pytest.mark.no_cover
KNOWN = known_at(SITE)
Events = tuple[PlanEvent, ...]
Document = dict[str, Any]


class Case(NamedTuple):
    """``answer``: as computed. ``events``: of its plan. ``now``: when it is read, where that is
    later than the last of them."""

    answer: Answer
    events: Events
    is_current: bool = True
    now: datetime | None = None


class Made(NamedTuple):
    """The plan after its events, and all that is told of that."""

    plan: Plan
    told: CarePlan
    others: tuple[Provenance | Flag, ...]


@pytest.fixture(scope="module")
def made() -> list[Made]:
    """Of each case, and of what came of it, which is another thing from one to the next."""
    found: list[Made] = []
    for number, (answer, events) in enumerate(chosen()):
        found += [told(Case(answer, events)), told(_ENDS[number % len(_ENDS)](answer, events))]
    return found


def chosen() -> Iterator[tuple[Answer, Events]]:
    for one in read_samples(here()):
        answer = answer_to(SITE, one.screen, one.number)
        yield from [(answer, events) for events in every_choice(answer)]
    for number, screen in enumerate(dealt(drawn(), MANY)):
        answer = answer_to(SITE, screen, number)
        yield answer, choices(answer, number % ROUNDS)


def _back(answer: Answer, events: Events) -> Case:
    return Case(answer, with_all_taken_back(answer, events))


def _ended(answer: Answer, events: Events) -> Case:
    return Case(answer, (*events, ended(answer, len(events) + 1)))


def _replaced(answer: Answer, events: Events) -> Case:
    return Case(answer, (*events, _gone(PlanEventKind.SUPERSEDED, events)), is_current=False)


def _in_error(answer: Answer, events: Events) -> Case:
    record = replace(withdrawn(answer).screen, recorded_at=events[-1].at + timedelta(minutes=1))
    gone = _gone(PlanEventKind.WITHDRAWN, events)
    return Case(replace(answer, screen=record), (*events, gone), is_current=False)


def _gone(kind: PlanEventKind, events: Events) -> PlanEvent:
    last = events[-1]
    at = last.at + timedelta(minutes=1)
    return PlanEvent(last.plan, last.version + 1, kind, at, "ward key", reason="Wrong person.")


def _ran_out(answer: Answer, events: Events) -> Case:
    return Case(answer, events, now=answer.plan.valid_until)


def _next(answer: Answer, events: Events) -> Case:
    """The plan that replaces one for which something else was chosen."""
    return Case(answer, (replace(events[0], set_aside=set_aside(events)),))


_ENDS = (_back, _ended, _replaced, _in_error, _ran_out, _next)


def told(case: Case) -> Made:
    answer, events, current, now = case
    plan = as_of(answer.plan, events, is_current=current, now=now or events[-1].at)
    care_plan = care_plan_of(SITE, plan, answer.screen, events)
    provenance = provenance_of(SITE, replace(answer, plan=plan), care_plan, (), events)
    stood = Stood(
        KeptPlan(answer.plan, events, current), answer.screen, answer.profile, answer.tests
    )
    patient = PatientRecord(answer.screen.patient_id, plan.id if current else None)
    flags = flags_of(SITE, Standing(patient, len(events), events[-1].at, stood))
    return Made(plan, care_plan, (provenance, *flags))


@pytest.fixture(scope="module")
def documents(made: list[Made]) -> list[bytes]:
    return list(dict.fromkeys(bytes_of(one) for each in made for one in (each.told, *each.others)))


def test_every_method_that_serves_a_move_was_chosen_for_it(made: list[Made]) -> None:
    serve = {
        (move, option.method.id)
        for move, rules in SITE.book.moves.items()
        for option in rules.options
    }
    chose = {(one.move, one.method) for each in made for one in each.plan.moves}
    assert serve - chose == set()


def test_what_was_chosen_is_the_thing_to_do_and_never_what_was_computed(made: list[Made]) -> None:
    looked = 0
    for each in made:
        for move, activity in zip(each.plan.moves, each.told.activity, strict=True):
            if move.overrule is None:
                continue
            detail, computed = activity.detail, move.overrule.computed
            assert detail.code.coding[0].code == move.method != computed.method
            assert detail.description.startswith("Chosen by a clinician, not computed: ")
            assert computed.method_title in detail.description
            less = move.overrule.less_supported
            assert ("LESS SUPPORTED than computed" in detail.description) is less
            assert all(one.why.rstrip(".") in detail.description for one in move.overrule.against)
            looked += 1
    assert looked > MANY


def test_our_own_checks_and_the_fast_validator_find_no_fault_in_any(documents: list[bytes]) -> None:
    for place, raw in enumerate(documents):
        if not place % SLOW:
            assert resource_faults(read(raw)) == []
        assert [f"{one.path}: {one.message}" for one in fhirkit.validate(raw)] == []


def test_nobody_finds_a_fault_in_any_shape_of_them(documents: list[bytes]) -> None:
    shapes, looked = Shapes(), 0
    found: set[str] = set()
    for raw in documents:
        new = shapes.unseen(json.loads(raw))
        if new is not None:
            found.update(faults(new))
            strict(new)
            looked += 1
    assert sorted(found)[:5] == []
    assert looked > MANY // 10


def faults(resource: Document) -> Iterator[str]:
    """By everybody. The one that has loaded our package knows the official definitions as well."""
    raw = json.dumps(resource).encode()
    yield from package_faults(resource)
    yield from form_faults(raw)
    yield from parse_faults(raw)
    yield from invariant_faults(resource)
    yield from map(str, our_faults(read_tree(raw), KNOWN))
