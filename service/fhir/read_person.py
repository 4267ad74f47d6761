"""Who is the person that a response is about, where the form does not ask or ask alone?

A Patient of the same transaction, or a patient of ours: either fills what the items leave out.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from msgspec import Struct

from service.domain.problem import Fault
from service.domain.subject import Subject
from service.fhir.read_elements import element_faults
from service.fhir.read_items import Document, Reading
from service.fhir.read_reference import is_over, until

_STRICT = "The items and the Patient say different things of the person."
_PARTS_OF_A_DATE = 3
_SENT_AS = {"birth_date": "birthDate", "sex": "gender", "name": "name"}
_NOT_IN_USE = ("old", "temp", "nickname", "anonymous", "maiden")
_MODIFIERS = ("deceasedBoolean", "deceasedDateTime", "link")


class Person(Struct, frozen=True):
    """``facts`` as the screen's ``patient`` has them. ``place``: where the Patient was sent;
    None for a patient of ours, whose facts may have been wrong before and are not held
    against the items. ``ends``: system and value of an identifier → until when it is in use.
    """

    identifiers: tuple[Document, ...]
    facts: Document
    place: str | None = None
    ends: Mapping[tuple[str, str], str] = {}

    def identifiers_at(self, observed: Any) -> list[Document]:
        """Those in use when the person was seen."""
        return [
            one
            for one in self.identifiers
            if not is_over(self.ends.get((one["system"], one["value"]), ""), observed)
        ]


def person_of(raw: Document, place: str) -> tuple[Person, list[Fault]]:
    """The person that a Patient resource at ``place`` describes, and its faults. It says who the
    person is: what else it tells is let be, its extensions like its address."""
    found = element_faults(raw, "Patient", place)
    faults = [fault for fault in found if fault.rule != "form.extension"]
    for name in _MODIFIERS:
        if raw.get(name) not in (None, False):
            text = "A patient of whom this is said is not screened."
            faults.append(Fault(f"{place}/{name}", "form.modifier", text))
    if raw.get("active") is False:
        text = "This record of the person is not in use: send the one that is."
        faults.append(Fault(f"{place}/active", "form.modifier", text))
    ends = dict(_identifiers(raw.get("identifier")))
    known = tuple([{"system": system, "value": value} for system, value in ends])
    if not known and not faults:
        text = "Needs an identifier with system and value."
        faults.append(Fault(f"{place}/identifier", "form.identifier", text))
    facts: Document = {}
    for name, value in (("birth_date", raw.get("birthDate")), ("sex", raw.get("gender"))):
        if isinstance(value, str):
            facts[name] = value
    called = next(_names(raw.get("name")), None)
    if called:
        facts["name"] = called
    return Person(known, facts, place, ends), faults


def person_known(subject: Subject, also: tuple[Document, ...] = ()) -> Person:
    """A patient of ours, as the last screen has them; ``also``: identifiers that are theirs."""
    ours = [subject.identifier, *subject.more_identifiers]
    facts: Document = {}
    if subject.birth_date is not None:
        facts["birth_date"] = subject.birth_date.isoformat()
    if subject.sex is not None:
        facts["sex"] = subject.sex.value
    if subject.name is not None:
        said = {"family": subject.name.family, "given": subject.name.given}
        facts["name"] = {part: text for part, text in said.items() if text is not None}
    known = tuple({"system": one.system, "value": one.value} for one in ours)
    return Person((*known, *also), facts)


def add_person(reading: Reading, person: Person, subject: str) -> None:
    """Fill what the items left out; where they say something else, that is a fault.
    ``subject``: the place of the reference to the person."""
    patient = reading.document.setdefault("patient", {})
    _add_identifiers(reading, patient, person, subject)
    for name, value in person.facts.items():
        native = f"/patient/{name}"
        if native in reading.lost:
            continue
        if name == "birth_date" and name not in patient and _has_age(reading, patient):
            if person.place is not None and not _is_of_age(reading.document, value):
                reading.fault(_place(person, name, subject), "form.disagrees", _STRICT)
        elif name not in patient:
            patient[name] = value
            reading.places[native] = _place(person, name, subject)
        elif name != "name" and person.place is not None and patient[name] != value:
            reading.fault(_place(person, name, subject), "form.disagrees", _STRICT)


def _add_identifiers(reading: Reading, patient: Document, person: Person, subject: str) -> None:
    if not person.identifiers or "/patient/identifier" in reading.lost:
        return
    observed = reading.document.get("observed_at")
    have, known = patient.get("identifier"), person.identifiers_at(observed)
    if have is None and not known:
        text = "None of these identifiers was in use when the person was seen."
        reading.fault(f"{person.place}/identifier", "form.identifier", text)
        reading.lost.add("/patient/identifier")
    elif have is None:
        first, *others = known
        patient["identifier"] = first
        place = subject if person.place is None else f"{person.place}/identifier/0"
        reading.places["/patient/identifier"] = place
        if person.place is not None and others and "more_identifiers" not in patient:
            patient["more_identifiers"] = others
            reading.places["/patient/more_identifiers"] = f"{person.place}/identifier"
    elif have not in known:
        text = "The items or subject.identifier name another person than this reference."
        reading.fault(subject, "form.disagrees", text)


def _has_age(reading: Reading, patient: Document) -> bool:
    return "age_years" in patient or "/patient/age_years" in reading.lost


def _is_of_age(document: Document, born: str) -> bool:
    """Whether the age that was answered can be that of someone ``born`` on a day, in a month or
    in a year; what cannot be read is told elsewhere."""
    age, observed = document["patient"].get("age_years"), document.get("observed_at")
    try:
        day = datetime.fromisoformat(str(observed)).date()
        birth = [int(part) for part in born.split("-")]
    except ValueError:
        return True
    today = [day.year, day.month, day.day][: len(birth)]
    most = today[0] - birth[0] - (today[1:] < birth[1:])
    unsure = len(birth) < _PARTS_OF_A_DATE and today[1:] == birth[1:]
    return type(age) is not int or most - unsure <= age <= most


def _place(person: Person, name: str, subject: str) -> str:
    return subject if person.place is None else f"{person.place}/{_SENT_AS[name]}"


def _identifiers(raw: Any) -> Iterator[tuple[tuple[str, str], str]]:
    for one in raw if isinstance(raw, list) else ():
        if not isinstance(one, dict) or one.get("use") == "old":
            continue
        system, value = one.get("system"), one.get("value")
        if isinstance(system, str) and isinstance(value, str):
            yield (system, value), until(one)


def _names(raw: Any) -> Iterator[Document]:
    """Names that the person goes by."""
    for one in raw if isinstance(raw, list) else ():
        if not isinstance(one, dict) or one.get("use") in _NOT_IN_USE:
            continue
        given = one.get("given")
        said = {
            "family": one.get("family"),
            "given": " ".join(part for part in given if isinstance(part, str))
            if isinstance(given, list)
            else None,
        }
        name = {part: text for part, text in said.items() if isinstance(text, str) and text}
        if name:
            yield name
