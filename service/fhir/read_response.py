"""Which screen does a QuestionnaireResponse hold, and if none, what are all its faults?

A fault is placed by a pointer into what was sent, its first part the type of the resource:
``/QuestionnaireResponse/item/2/answer/0/valueQuantity/code``.
"""

from collections.abc import Iterable, Iterator
from typing import Any

from service.domain.problem import Fault, Refused
from service.domain.screen import Screen
from service.domain.sense import faults_of as senseless
from service.domain.shape import MOST_FAULTS, fit
from service.fhir.read_elements import element_faults
from service.fhir.read_envelope import CORRECTION_REASON, Draft, read_envelope
from service.fhir.read_form import UNABLE, questions_of
from service.fhir.read_items import Reading, read_items
from service.fhir.read_person import Person, add_person
from service.fhir.read_shapes import is_common
from service.fhir.site import Site

ROOT = "/QuestionnaireResponse"
NEW = ("completed", "stopped")
_DETAIL = "The response cannot be taken as it is."
_ALWAYS = ("patient", "orders", "readiness", "stages")
"""Rooms of the screen that are there though nothing in them was answered."""


def draft_of(site: Site, raw: Any, place: str = ROOT) -> Draft:
    """Everything that a response says by itself. Raises Refused where it is no response."""
    if not isinstance(raw, dict) or raw.get("resourceType") != "QuestionnaireResponse":
        text = "Must be a QuestionnaireResponse."
        raise refused((Fault(f"{place}/resourceType", "form.resource_type", text),))
    questions = questions_of(site.form)
    draft = Draft(place, Reading(version=site.book.ref.version), links=questions)
    if not is_common(raw):
        known = frozenset((site.extension(CORRECTION_REASON),))
        draft.reading.faults.extend(element_faults(raw, "QuestionnaireResponse", place, known))
    read_items(draft.reading, questions, raw.get("item"), place)
    if site.setting is not None:
        draft.reading.document.setdefault("setting", site.setting.value)
    read_envelope(site, raw, draft)
    return draft


def screen_of(draft: Draft, person: Person | None = None, statuses: Iterable[str] = NEW) -> Screen:
    """The screen, with what is known of the person filled in. Raises Refused with all faults."""
    reading = draft.reading
    if person is not None:
        add_person(reading, person, f"{draft.place}/subject")
    check_status(draft, statuses)
    for room in _ALWAYS:
        if f"/{room}" not in reading.lost:
            reading.document.setdefault(room, {})
    try:
        screen = fit(reading.document, Screen)
    except Refused as problem:
        reading.faults.extend(_placed(draft, problem.faults))
        screen = None
    if screen is not None and not reading.faults:
        return screen
    if screen is not None and not reading.lost:
        # every answer was read, so what they say together can be told in the same pass
        reading.faults.extend(_placed(draft, senseless(screen, screen.observed_at)))
    raise refused(reading.faults)


def check_status(draft: Draft, statuses: Iterable[str]) -> None:
    """Add a fault where the status is not one that can be taken here and now."""
    wanted = tuple(statuses)
    if draft.status in wanted or any(one.rule == "form.status" for one in draft.reading.faults):
        return
    text = f"Can be taken here with status: {', '.join(wanted)}."
    if draft.status == "in-progress":
        text = "A screen that is still being done is not kept: send it when it is done."
    draft.reading.fault(f"{draft.place}/status", "form.status", text)


def retold(draft: Draft, faults: Iterable[Fault]) -> tuple[Fault, ...]:
    """Faults of the screen, each placed where its answer was sent."""
    return tuple(_placed(draft, faults))


def refused(faults: Iterable[Fault]) -> Refused:
    """All of ``faults``, each once, the first ones where they are very many."""
    each = tuple(dict.fromkeys(faults))
    detail = _DETAIL
    if len(each) > MOST_FAULTS:
        detail += f" Only the first {MOST_FAULTS} of {len(each)} faults are listed."
    return Refused(detail, each[:MOST_FAULTS])


def _placed(draft: Draft, faults: Iterable[Fault]) -> Iterator[Fault]:
    """A field that was sent and could not be read is not said to be missing as well."""
    places, lost = draft.reading.places, draft.reading.lost
    for fault in faults:
        if fault.rule == "shape.missing" and _above(fault.path, lost) is not None:
            continue
        found = _above(fault.path, places)
        text = fault.text
        if found != fault.path:
            text = f"{text} (linkId {_link(fault.path)})"
        if fault.rule == "shape.missing" and f"{_link(fault.path)}.{UNABLE}" in draft.links:
            text = f"{text} Where the person was not able, answer its .{UNABLE} question."
        place = draft.place if found is None else places[found]
        yield Fault(place, fault.rule, text)


def _above(pointer: str, known: Any) -> str | None:
    """The longest part of ``pointer``, from its start, that is ``known``."""
    while pointer:
        if pointer in known:
            return pointer
        pointer = pointer.rpartition("/")[0]
    return None


def _link(pointer: str) -> str:
    return ".".join(part for part in pointer.split("/") if part and not part.isdecimal())
