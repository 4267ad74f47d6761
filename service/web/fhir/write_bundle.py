"""How is a Bundle answered: a transaction as a whole, a batch entry by entry?"""

import asyncio
from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from service.domain.problem import Fault, NotAllowed, NotFound, Problem
from service.fhir.answer_entries import AnsweredBundle, AnsweredEntry, answered_bundle
from service.fhir.read_bundle import Wanted, entries_of
from service.fhir.read_people import dangling
from service.fhir.read_response import draft_of, refused
from service.web.fhir import write_transaction
from service.web.fhir.conditions import Returned
from service.web.fhir.deeds import Done, done_alone, shown
from service.web.fhir.entries import entry_of, entry_of_problem, entry_of_read
from service.web.fhir.intents import Desk, Intent, asked_by, person_named, with_key
from service.web.fhir.reading_within import Within, read_within
from service.web.house import Ask
from service.web.refusals import BadRequest
from service.web.scopes import needs, require

_AT_ONCE = 16
"""So many entries of a batch share a commit."""
LETTERS = {"POST": "c", "PUT": "u"}
_DEEDS = {"POST": "screen.record", "PUT": "screen.correct"}
"""What the audit trail calls what an entry asks for. A read notes itself."""


async def answered(
    request: Ask, desk: Desk, raw: Any, key: str | None, wanted: Returned
) -> AnsweredBundle:
    """The answer to a transaction or batch. Raises one problem where a transaction fails."""
    kind, entries = entries_of(raw, desk.house.site.base)
    if kind == "batch":
        return answered_bundle(kind, await _batch(request, desk, entries, key, wanted))
    for method in sorted({one.method for one in entries} & set(LETTERS)):
        require(desk.call, needs("QuestionnaireResponse", LETTERS[method]))
    reading = [one for one in entries if one.method == "GET"]
    before = [] if any(one.faults for one in entries) else await _tried(request, reading)
    written = await write_transaction.written(desk, entries, key, wanted)
    after = await _read(request, reading) if written else before
    reads = {one.index: entry_of_read(found) for one, found in zip(reading, after, strict=True)}
    both = {**written, **reads}
    return answered_bundle(kind, [both[one.index] for one in entries])


async def _read(request: Ask, reading: Sequence[Wanted]) -> list[Within]:
    return [await read_within(request, one.url, one.headers) for one in reading]


async def _tried(request: Ask, reading: Sequence[Wanted]) -> list[Within]:
    """A transaction of which a part fails fails as a whole, so each read is tried before anything
    is written: what is there then is there afterwards. Raises BadRequest, NotFound."""
    faults: list[Fault] = []
    tried = await _read(request, reading)
    for one, found in zip(reading, tried, strict=True):
        if found.status >= HTTPStatus.BAD_REQUEST:
            missing = found.status == HTTPStatus.NOT_FOUND
            rule = "bundle.not_found" if missing else "bundle.condition"
            faults.append(Fault(f"{one.place}/request/url", rule, found.said))
    if faults:
        kind = NotFound if faults[0].rule == "bundle.not_found" else BadRequest
        raise kind("Nothing of the transaction was kept.", tuple(faults))
    return tried


async def _batch(
    request: Ask, desk: Desk, entries: Sequence[Wanted], key: str | None, wanted: Returned
) -> list[AnsweredEntry]:
    told: list[AnsweredEntry] = []
    for begin in range(0, len(entries), _AT_ONCE):
        few = entries[begin : begin + _AT_ONCE]
        told += await asyncio.gather(*(_each(request, desk, one, key, wanted) for one in few))
    return told


async def _each(
    request: Ask, desk: Desk, entry: Wanted, key: str | None, wanted: Returned
) -> AnsweredEntry:
    try:
        if entry.faults:
            raise refused(entry.faults)
        if entry.method == "GET":
            return entry_of_read(await read_within(request, entry.url, entry.headers))
        require(desk.call, needs("QuestionnaireResponse", LETTERS[entry.method]))
        done = await _done(desk, entry, key)
        return entry_of(desk.house.site, done, shown(desk, done, wanted))
    except Problem as problem:
        if isinstance(problem, NotAllowed):
            house, call = desk.house, desk.call
            noted = (call.principal, problem.scope, call.request_id, house.service.records.audit)
            await house.refusals.note_scope(*noted)
        elif entry.method in _DEEDS:
            deed, service = _DEEDS[entry.method], desk.house.service
            await desk.house.refusals.note_deed(problem, service, desk.call, deed)
        return entry_of_problem(problem)


async def _done(desk: Desk, entry: Wanted, key: str | None) -> Done:
    if entry.kind == "Patient":
        text = "A Patient is taken in a transaction, beside the response that refers to it."
        raise refused((Fault(entry.place, "bundle.patient_alone", text),))

    async def settle() -> Intent:
        draft = draft_of(desk.house.site, entry.resource, f"{entry.place}/resource")
        faults = list(dangling(entry, {}))
        if faults:
            raise refused([*draft.reading.faults, *faults])
        person = await person_named(desk, draft)
        intent = await asked_by(desk, entry, draft, person)
        return with_key(intent, "fhir.batch", None if key is None else f"{key}#{entry.index}")

    return await done_alone(desk, settle)
