"""What does a response say outside its items, and does that agree with them?

Subject, encounter, author and authored stand in for items that are not there. Where both are
there and say different things, that is a fault.
"""

import re
from collections.abc import Callable, Container
from datetime import datetime, timedelta
from typing import Any

from msgspec import Struct

from service.domain.sense_text import faults_of_text
from service.fhir.questionnaire_response import QUESTIONNAIRE
from service.fhir.read_items import Document, Reading
from service.fhir.read_reference import agree, hold_reference, identifier_in, must_be_a, object_of
from service.fhir.site import Site

CORRECTION_REASON = "correction-reason"
STATUSES = ("in-progress", "completed", "amended", "entered-in-error", "stopped")
_LONGEST_REASON = 1000
_OF_A_REASON = {"url", "valueString", "id"}
_CLOCKS_APART = timedelta(minutes=1)
_NOT_KEPT = ("basedOn", "partOf")
_SAYS_MORE = "additional"
_PROFILES = re.compile(
    r"http://hl7\.org/fhir/(4\.0/)?StructureDefinition/QuestionnaireResponse(\|.*)?"
    r"|http://hl7\.org/fhir/uv/sdc/StructureDefinition/.*"
)
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT.*(Z|[+-]\d\d:\d\d)")


class Draft(Struct):
    """A response as far as it can be read by itself.

    ``subject``: the reference to the person, still to be followed. ``source``: the sender's id
    as ``system|value``; ``own``: an id of ours in ``identifier``. ``links``: of the form.
    """

    place: str
    reading: Reading
    status: str = ""
    id: str | None = None
    own: str | None = None
    source: str | None = None
    subject: str | None = None
    reason: str | None = None
    links: Container[str] = ()


def read_envelope(site: Site, raw: Document, draft: Draft) -> None:
    """Read everything but the items, which are read already."""
    for part in _PARTS:
        part(site, raw, draft)


def _whole(site: Site, raw: Document, draft: Draft) -> None:
    reading, place = draft.reading, draft.place
    for name in _NOT_KEPT:
        if name in raw:
            text = "This is not kept here, so it is refused: leave it out."
            reading.fault(f"{place}/{name}", "form.not_kept", text)
    if object_of(raw.get("text")).get("status") == _SAYS_MORE:
        text = "Says that the narrative tells more than the answers, and only they are read."
        reading.fault(f"{place}/text/status", "form.not_kept", text)
    profiles = object_of(raw.get("meta")).get("profile")
    for index, profile in enumerate(_listed(profiles)):
        ours = str(profile).startswith(f"{site.canonical}/StructureDefinition/")
        if not ours and not _PROFILES.fullmatch(str(profile)):
            text = "This profile is not known here, so it cannot be kept to."
            reading.fault(f"{place}/meta/profile/{index}", "form.profile", text)
    draft.id = raw["id"] if isinstance(raw.get("id"), str) else None


def _questionnaire(site: Site, raw: Document, draft: Draft) -> None:
    ours = site.definition("Questionnaire", QUESTIONNAIRE)
    url, _, version = ours.partition("|")
    named, _, wanted = str(raw.get("questionnaire", "")).partition("|")
    if named != url:
        text = f"Name the form that was answered: {url}."
        draft.reading.fault(f"{draft.place}/questionnaire", "form.questionnaire", text)
    elif wanted and wanted.partition(".")[0] != version.partition(".")[0]:
        text = f"That version of the form is not read here. The one that is served: {version}."
        draft.reading.fault(f"{draft.place}/questionnaire", "form.questionnaire", text)


def _status(_site: Site, raw: Document, draft: Draft) -> None:
    draft.status = raw["status"] if isinstance(raw.get("status"), str) else ""
    if draft.status not in STATUSES:
        text = f"Must be one of: {', '.join(STATUSES)}."
        draft.reading.fault(f"{draft.place}/status", "form.status", text)


def _identifier(site: Site, raw: Document, draft: Draft) -> None:
    if "identifier" not in raw:
        return
    reading, place = draft.reading, f"{draft.place}/identifier"
    known = identifier_in(reading, raw["identifier"], place)
    if known is None:
        return
    if known["system"] == site.identifier_system("screen"):
        draft.own = known["value"]
        return
    draft.source = f"{known['system']}|{known['value']}"
    said = reading.document.setdefault("source_id", draft.source)
    if said != draft.source:
        text = "The item source_id says something else."
        reading.fault(place, "form.disagrees", text)
    reading.places.setdefault("/source_id", place)


def _subject(_site: Site, raw: Document, draft: Draft) -> None:
    if "subject" not in raw:
        return
    reading, place, subject = draft.reading, f"{draft.place}/subject", object_of(raw["subject"])
    must_be_a(reading, subject, ("Patient",), place)
    if isinstance(subject.get("reference"), str):
        draft.subject = subject["reference"]
    if "identifier" in subject:
        known = identifier_in(reading, subject["identifier"], f"{place}/identifier")
        patient = reading.document.setdefault("patient", {})
        others = patient.get("more_identifiers") or ()
        if known is not None and known not in others:
            agree(reading, patient, "/patient/identifier", known, f"{place}/identifier")


def _encounter(_site: Site, raw: Document, draft: Draft) -> None:
    if "encounter" in raw:
        place = f"{draft.place}/encounter"
        stay = object_of(raw["encounter"])
        must_be_a(draft.reading, stay, ("Encounter",), place)
        hold_reference(draft.reading, draft.reading.document, "/encounter", stay, place)


def _author(_site: Site, raw: Document, draft: Draft) -> None:
    if "author" in raw:
        reading, place, author = draft.reading, f"{draft.place}/author", object_of(raw["author"])
        must_be_a(reading, author, ("Practitioner", "PractitionerRole"), place)
        assessor = reading.document.setdefault("assessor", {})
        hold_reference(reading, assessor, "/assessor/identifier", author, place)
        if not assessor:
            del reading.document["assessor"]


def _source(_site: Site, raw: Document, draft: Draft) -> None:
    """Who answered: said anew only where it is neither the author nor the person."""
    if "source" in raw and raw["source"] not in (raw.get("author"), raw.get("subject")):
        text = "Who answered is kept only where it is the author or the subject."
        draft.reading.fault(f"{draft.place}/source", "form.not_kept", text)


def _authored(_site: Site, raw: Document, draft: Draft) -> None:
    authored, reading = raw.get("authored"), draft.reading
    if not isinstance(authored, str) or "/observed_at" in reading.lost:
        return
    place, observed = f"{draft.place}/authored", reading.document.get("observed_at")
    if observed is None and _MOMENT.fullmatch(authored):
        reading.document["observed_at"] = authored
        reading.places["/observed_at"] = place
    elif observed is None:
        text = "Needs its time and offset, or an answer to observed_at."
        reading.fault(place, "form.authored", text)
        reading.lost.add("/observed_at")
    elif _is_before(authored, observed):
        text = "The answers are older than observed_at says."
        reading.fault(place, "form.disagrees", text)


def _reason(site: Site, raw: Document, draft: Draft) -> None:
    for index, one in enumerate(_listed(raw.get("extension"))):
        if object_of(one).get("url") != site.extension(CORRECTION_REASON):
            continue
        reason, place = one.get("valueString"), f"{draft.place}/extension/{index}"
        if not isinstance(reason, str) or not 1 <= len(reason) <= _LONGEST_REASON:
            text = f"Needs valueString with 1 to {_LONGEST_REASON} characters."
            draft.reading.fault(place, "form.extension", text)
            continue
        if draft.reason is not None or not set(one) <= _OF_A_REASON:
            text = "The reason is said once, in valueString alone."
            draft.reading.fault(place, "form.extension", text)
        draft.reading.faults.extend(faults_of_text(place, reason))
        draft.reason = reason


_PARTS: tuple[Callable[[Site, Document, Draft], None], ...] = (
    _whole, _questionnaire, _status, _authored, _identifier, _subject, _encounter, _author,
    _source, _reason,
)  # fmt: skip


def _listed(raw: Any) -> list[Any]:
    return raw if isinstance(raw, list) else []


def _is_before(authored: str, observed: str) -> bool:
    """``authored`` may be a year, a month or a day only."""
    if not _MOMENT.fullmatch(authored):
        return observed[: len(authored)] > authored
    try:
        written, seen = datetime.fromisoformat(authored), datetime.fromisoformat(observed)
        return written + _CLOCKS_APART < seen
    except (ValueError, TypeError, OverflowError):
        return False
