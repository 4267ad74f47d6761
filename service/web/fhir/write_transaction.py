"""How is everything that a transaction writes settled, and kept as a whole or not at all?"""

import asyncio
from collections.abc import Iterable, Iterator

from msgspec import Struct, field
from msgspec.structs import replace

from service.application.record_screens import Recording
from service.domain.problem import Fault, Problem
from service.fhir.answer_entries import AnsweredEntry
from service.fhir.read_bundle import Wanted
from service.fhir.read_envelope import Draft
from service.fhir.read_people import (
    dangling,
    identifier_asked,
    people_in,
    target_of,
    urls_of,
)
from service.fhir.read_person import Person
from service.fhir.read_response import draft_of
from service.web.fhir.conditions import Returned
from service.web.fhir.deeds import Done, done_together, shown, together
from service.web.fhir.entries import entry_of, entry_of_patient
from service.web.fhir.intents import (
    Desk,
    Intent,
    asked_by,
    digest_of,
    person_named,
    with_key,
)


class _Settled(Struct):
    """What the entries come to. ``intents``: by the index of the response's entry;
    ``subjects``: index of a response's entry → index of its Patient's."""

    entries: tuple[Wanted, ...]
    people: dict[int, Person]
    urls: dict[str, int]
    faults: list[Fault]
    problems: list[tuple[Draft, Problem]] = field(default_factory=list)
    intents: dict[int, Intent] = field(default_factory=dict)
    subjects: dict[int, int] = field(default_factory=dict)


async def written(
    desk: Desk, entries: tuple[Wanted, ...], key: str | None, wanted: Returned
) -> dict[int, AnsweredEntry]:
    """The answers to the entries that write, by index. Raises one problem for all there are."""
    people, faults = people_in(entries)
    own = [fault for entry in entries for fault in entry.faults]
    settled = _Settled(entries, people, urls_of(entries), [*own, *faults])
    for entry in entries:
        if entry.kind == "QuestionnaireResponse" and entry.method != "GET" and not entry.faults:
            await asyncio.sleep(0)  # others are answered in between
            await _settle(desk, settled, entry)
    settled.faults.extend(_unfit_people(settled))
    settled.faults.extend(_same_twice(settled))
    if settled.faults or settled.problems:
        raise together(settled.problems, settled.faults)
    new = {index for index, one in people.items() if not await _is_known(desk, one)}
    order = sorted(settled.intents)
    digest = digest_of(*[settled.intents[index] for index in order])
    intents = [
        with_key(settled.intents[index], "fhir.transaction", key and f"{key}#{index}", digest)
        for index in order
    ]
    done = dict(zip(order, await done_together(desk, intents), strict=True))
    return _told(desk, settled, done, new, wanted)


async def _settle(desk: Desk, settled: _Settled, entry: Wanted) -> None:
    draft = draft_of(desk.house.site, entry.resource, f"{entry.place}/resource")
    loose = list(dangling(entry, settled.urls))
    settled.faults.extend(loose)
    if any("/subject/" in fault.path for fault in loose):
        draft.reading.lost.add("/patient/identifier")
        draft.subject = None
    try:
        person = await _person(desk, settled, entry, draft)
        settled.intents[entry.index] = await asked_by(desk, entry, draft, person)
    except Problem as problem:
        settled.problems.append((draft, problem))


async def _person(desk: Desk, settled: _Settled, entry: Wanted, draft: Draft) -> Person | None:
    target = target_of(draft.subject, entry, settled.urls) if draft.subject else None
    if target is None:
        return await person_named(desk, draft)
    if target in settled.people:
        settled.subjects[entry.index] = target
        return _asked_first(settled.people[target], settled.entries[target])
    place = f"{draft.place}/subject/reference"
    draft.reading.fault(place, "form.reference", "That entry of the Bundle is no Patient.")
    draft.reading.lost.add("/patient/identifier")
    return None


def _asked_first(person: Person, entry: Wanted) -> Person:
    """The identifier that the Patient is looked for by leads."""
    asked = identifier_asked(_condition(entry))
    if asked is None:
        return person
    first = {"system": asked.system, "value": asked.value}
    others = tuple(one for one in person.identifiers if one != first)
    return replace(person, identifiers=(first, *others))


def _condition(entry: Wanted) -> str:
    return entry.if_none_exist or entry.url.partition("?")[2]


def _unfit_people(settled: _Settled) -> Iterator[Fault]:
    used = set(settled.subjects.values())
    for index, person in settled.people.items():
        entry = settled.entries[index]
        if index not in used and not entry.faults:
            text = "A Patient is taken only beside a response that refers to it."
            yield Fault(entry.place, "bundle.patient_alone", text)
        condition = _condition(entry)
        asked = identifier_asked(condition)
        said = asked and {"system": asked.system, "value": asked.value}
        if condition and said not in person.identifiers:
            text = "A Patient is looked for by identifier=system|value, one of its own."
            yield Fault(f"{entry.place}/request", "bundle.url", text)


def _same_twice(settled: _Settled) -> Iterator[Fault]:
    seen: set[str] = set()
    for index, intent in settled.intents.items():
        for named in _names(intent):
            if named in seen:
                place = settled.entries[index].place
                text = "Another entry of this transaction changes the same response."
                yield Fault(place, "bundle.same_resource", text)
            seen.add(named)


def _names(intent: Intent) -> Iterable[str]:
    if isinstance(intent.change, Recording):
        source = intent.change.content.source_id
        return () if source is None else (f"source {source}",)
    if intent.change is None:
        return (intent.found.record.id,) if intent.found else ()
    return (intent.change.screen_id,)


async def _is_known(desk: Desk, person: Person) -> bool:
    records, org = desk.house.service.records, desk.call.principal.org
    for one in person.identifiers:
        if await records.find_patient(org, one["system"], one["value"]) is not None:
            return True
    return False


def _told(
    desk: Desk, settled: _Settled, done: dict[int, Done], new: set[int], wanted: Returned
) -> dict[int, AnsweredEntry]:
    site = desk.house.site
    told = {index: entry_of(site, one, shown(desk, one, wanted)) for index, one in done.items()}
    for response, patient in settled.subjects.items():
        theirs = done[response].answer.screen.patient_id
        told.setdefault(patient, entry_of_patient(site, theirs, new=patient in new))
    return told
