"""What does one response ask to be done, given what is kept already?"""

import hashlib

from msgspec import Struct
from msgspec.structs import replace

from service.application.find_screen import screen_of_source
from service.application.known_person import is_theirs, known_person
from service.application.ports import KeptScreen, Once
from service.application.read_screen import kept_screen
from service.application.record_screens import Change, Correcting, Recording, Withdrawing
from service.application.service import Call
from service.domain.problem import Fault, NotFound, StaleVersion
from service.domain.record import ScreenStatus
from service.domain.screen import Screen
from service.domain.value import Identifier
from service.fhir.read_bundle import Wanted
from service.fhir.read_envelope import Draft
from service.fhir.read_people import identifier_asked, identifier_said, own_patient
from service.fhir.read_person import Person, person_known
from service.fhir.read_response import NEW, refused, screen_of
from service.web import reply
from service.web.fhir.conditions import source_named, version_named
from service.web.house import House
from service.web.refusals import BadRequest, IdsGivenHere
from service.web.scopes import allow, needs

CHANGED = ("completed", "amended", "stopped")
WITHDRAWN = "entered-in-error"
NO_REASON = "Corrected by the sender; no reason was given."
NO_REASON_WITHDRAWN = "Entered in error; no reason was given."
_MATTER_NOT = ("form.questionnaire", "form.disagrees", "form.reference", "form.authored")


class Desk(Struct, frozen=True):
    """Who asks, and whom."""

    house: House
    call: Call


class Intent(Struct, frozen=True):
    """``change``: None where what is asked for is ``found`` already. ``conditional``: the answer
    hangs on what was found, so that it is looked for again where another came first."""

    draft: Draft
    change: Change | None
    found: KeptScreen | None = None
    conditional: bool = False


async def to_create(
    desk: Desk, draft: Draft, person: Person | None, if_none_exist: str | None
) -> Intent:
    """A new screen, unless the sender's id is known already. Raises BadRequest, Refused."""
    if if_none_exist is None:
        return Intent(draft, _recording(draft, person, NEW))
    asked = _senders(desk, source_named(if_none_exist))
    found = await screen_of_source(desk.house.service, desk.call, asked)
    if found is not None:
        return Intent(draft, None, found)
    _name(draft, asked)
    return Intent(draft, _recording(draft, person, NEW), conditional=True)


async def to_update(
    desk: Desk, draft: Draft, person: Person | None, screen_id: str, expected: int | None
) -> Intent:
    """A correction or a withdrawal; nothing where nothing differs. Raises IdsGivenHere, Refused,
    StaleVersion."""
    before = await _kept(desk, screen_id)
    record = before.record
    if draft.own not in (None, screen_id):
        text = "This is the id of another response."
        draft.reading.fault(f"{draft.place}/identifier", "form.identifier", text)
    if draft.status == WITHDRAWN:
        return Intent(draft, _withdrawing(draft, record.content, screen_id, expected))
    if record.content.source_id is not None:
        draft.reading.document.setdefault("source_id", record.content.source_id)
    screen = screen_of(draft, person, CHANGED)
    version = record.version if expected is None else expected
    if record.status != ScreenStatus.WITHDRAWN and _same(screen, record.content):
        if version != record.version:
            raise StaleVersion(f"The response stands at version {record.version}, not {version}.")
        return Intent(draft, None, before)
    return Intent(draft, Correcting(screen_id, version, draft.reason or NO_REASON, screen))


async def _kept(desk: Desk, screen_id: str) -> KeptScreen:
    """What is to be changed."""
    try:
        return await kept_screen(desk.house.service, desk.call, screen_id, action="screen.correct")
    except NotFound:
        text = "There is no such response, and none is made by PUT: ids are given here."
        raise IdsGivenHere(text) from None


async def to_update_by(
    desk: Desk, draft: Draft, person: Person | None, query: str, if_match: str | None
) -> Intent:
    """An update of the response the query finds, or a new one. Raises as ``to_update``."""
    asked = source_named(query)
    if asked.system == desk.house.site.identifier_system("screen"):
        expected = None if if_match is None else version_named(if_match)
        return await to_update(desk, draft, person, asked.value, expected)
    source = _senders(desk, asked)
    _name(draft, source)
    found = await screen_of_source(desk.house.service, desk.call, source)
    if found is None:
        if if_match is not None:
            raise StaleVersion("No response is known by that identifier, in any version.")
        if draft.id is not None:
            raise BadRequest("No response is known by that identifier, and ids are given here.")
        return Intent(draft, _recording(draft, person, CHANGED), conditional=True)
    if draft.id not in (None, found.record.id):
        raise BadRequest("The response with that identifier has another id.")
    expected = found.record.version if if_match is None else version_named(if_match)
    intent = await to_update(desk, draft, person, found.record.id, expected)
    return replace(intent, conditional=if_match is None)


async def asked_by(desk: Desk, entry: Wanted, draft: Draft, person: Person | None) -> Intent:
    """What an entry of a Bundle asks for. Raises as the functions above."""
    if entry.method == "POST":
        return await to_create(desk, draft, person, entry.if_none_exist)
    if "?" in entry.url:
        query = entry.url.partition("?")[2]
        return await to_update_by(desk, draft, person, query, entry.if_match)
    expected, screen_id = version_named(entry.if_match), entry.url.partition("/")[2]
    if draft.id != screen_id:
        raise BadRequest("The resource needs the id that stands in request.url.")
    return await to_update(desk, draft, person, screen_id, expected)


async def person_named(desk: Desk, draft: Draft) -> Person | None:
    """The patient of ours that ``subject`` refers to; None where the items or an identifier say
    who it is. What cannot be followed is added to the faults."""
    reference, place = draft.subject, f"{draft.place}/subject/reference"
    if reference is None:
        return None
    said = identifier_said(draft.reading.document)
    ours = own_patient(reference, desk.house.site.base)
    if ours is None and reference.startswith("Patient?"):
        ours = await _patient_asked(desk, reference.partition("?")[2]) or ""
    if ours is None:
        if said is None:
            text = "This reference cannot be followed from here: send subject.identifier."
            draft.reading.fault(place, "form.reference", text)
        return None
    service = desk.house.service
    known = await known_person(service, desk.call, ours)
    if known is None:
        draft.reading.fault(place, "form.reference", "There is no such patient here.")
        return None
    readable = allow(desk.call, needs("Patient", "r"))
    if said is None and not readable:
        text = "This credential may not read the Patient: send subject.identifier."
        draft.reading.fault(place, "form.reference", text)
        return None
    theirs = said is not None and await is_theirs(service, desk.call, known.patient, said)
    also = ({"system": said.system, "value": said.value},) if said and theirs else ()
    person = person_known(known.subject, also)
    return person if readable else replace(person, facts={})


async def _patient_asked(desk: Desk, query: str) -> str | None:
    asked = identifier_asked(query)
    if asked is None:
        return None
    records, org = desk.house.service.records, desk.call.principal.org
    found = await records.find_patient(org, asked.system, asked.value)
    return None if found is None else found.id


def with_key(intent: Intent, operation: str, key: str | None, digest: str | None = None) -> Intent:
    """A new screen is kept once under ``key``; ``digest``: of more than the screen itself."""
    change = intent.change
    if key is None or not isinstance(change, Recording):
        return intent
    once = Once(operation, key, digest or digest_of(intent))
    return replace(intent, change=Recording(change.content, once))


def digest_of(*intents: Intent) -> str:
    """Of what is asked for, by its value."""
    told = [
        (
            one.draft.status,
            getattr(one.change, "content", None),
            getattr(one.change, "screen_id", ""),
        )
        for one in intents
    ]
    return hashlib.sha256(reply.NATIVE.encode(told)).hexdigest()


def _recording(draft: Draft, person: Person | None, statuses: tuple[str, ...]) -> Recording:
    if draft.own is not None:
        text = "This is an id that is given here: a new response cannot have it."
        draft.reading.fault(f"{draft.place}/identifier", "form.identifier", text)
    return Recording(screen_of(draft, person, statuses))


def _withdrawing(draft: Draft, before: Screen, screen_id: str, expected: int | None) -> Withdrawing:
    """Only who it was and that it is withdrawn matters; the answers may be at fault."""
    faults = [
        fault
        for fault in draft.reading.faults
        if not fault.path.startswith(f"{draft.place}/item") and fault.rule not in _MATTER_NOT
    ]
    said, patient = identifier_said(draft.reading.document), before.patient
    if said is not None and said not in (patient.identifier, *patient.more_identifiers):
        text = "The response that is kept is about another person."
        faults.append(Fault(f"{draft.place}/subject", "form.disagrees", text))
    if faults:
        raise refused(faults)
    return Withdrawing(screen_id, expected, draft.reason or NO_REASON_WITHDRAWN)


def _senders(desk: Desk, asked: Identifier) -> str:
    if asked.system == desk.house.site.identifier_system("screen"):
        raise BadRequest("Name the identifier that the sender gave, not one that is given here.")
    return f"{asked.system}|{asked.value}"


def _name(draft: Draft, source: str) -> None:
    """The response has the identifier that it is looked for by, or none: then it gets it."""
    if draft.source not in (None, source):
        raise BadRequest("The condition names another identifier than the response has.")
    said = draft.reading.document.setdefault("source_id", source)
    if said != source:
        text = "The item source_id says something else than the condition."
        place = draft.reading.places.get("/source_id", draft.place)
        draft.reading.fault(place, "form.disagrees", text)


def _same(one: Screen, other: Screen) -> bool:
    """Digit for digit."""
    return reply.NATIVE.encode(one) == reply.NATIVE.encode(other)
