"""What is said of the person in a Patient, and no more?"""

from service.domain.record import ScreenRecord
from service.domain.subject import Subject
from service.fhir.narrative import said
from service.fhir.resources import Patient
from service.fhir.structs import HumanName, Meta
from service.fhir.subject import identifier_of, patient_id
from service.fhir.text import tidy, zoned


def patient_of(record: ScreenRecord) -> Patient:
    """The person as this version of this screen told of them, which is the Patient's version."""
    subject = record.content.patient
    return Patient(
        id=patient_id(record),
        meta=Meta(
            version_id=f"{record.id}.{record.version}", last_updated=zoned(record.recorded_at)
        ),
        text=said(_words(subject)),
        identifier=tuple(map(identifier_of, (subject.identifier, *subject.more_identifiers))),
        name=_names(subject),
        gender=None if subject.sex is None else subject.sex.value,
        birth_date=subject.birth_date,
    )


def _names(subject: Subject) -> tuple[HumanName, ...]:
    name = subject.name
    if name is None or not (name.family or name.given):
        return ()
    family = tidy(name.family) if name.family else None
    given = (tidy(name.given),) if name.given else ()
    return (HumanName(family=family, given=given),)


def _words(subject: Subject) -> str:
    name = subject.name
    known = (
        ("Name", " ".join(filter(None, (name.given, name.family))) if name else ""),
        ("Identifier", subject.identifier.value),
        ("Other identifiers", ", ".join(one.value for one in subject.more_identifiers)),
        ("Born", subject.birth_date.isoformat() if subject.birth_date else ""),
        ("Sex", subject.sex.value if subject.sex else ""),
    )
    return ". ".join(f"{label}: {value}" for label, value in known if value) + "."
