"""What is said of the person in a Patient, and no more?"""

from msgspec.structs import replace

from service.application.person_history import KnownBy
from service.application.ports import Family
from service.domain.record import ScreenRecord
from service.domain.subject import Subject
from service.fhir.narrative import said
from service.fhir.resources import Patient, PatientLink
from service.fhir.site import Site
from service.fhir.structs import HumanName, Identifier, Meta, Reference
from service.fhir.subject import identifier_of, patient_id
from service.fhir.text import tidy, zoned


def patient_of(
    site: Site,
    record: ScreenRecord,
    family: Family | None = None,
    known_by: tuple[KnownBy, ...] = (),
) -> Patient:
    """The person as this version of this screen told of them, which is the Patient's version.

    ``family``: which records were found to be of one patient with this one; each adds to the
    version. One that another took over is not active and leads there. ``known_by``: by which
    identifiers they were known besides; what is old is told as that.
    """
    subject = record.content.patient
    links = [] if family is None else _links(family)
    gone = family is not None and family.replaced_by is not None
    later = [joined.at for joined in family.replaces] if family else []
    later += [family.replaced_at] if family and family.replaced_at else []
    version = f"{record.id}.{record.version}" + (f".{len(links)}" if links else "")
    return Patient(
        id=patient_id(record) if family is None else family.patient,
        meta=Meta(
            version_id=version,
            last_updated=max([zoned(record.recorded_at), *later]),
            profile=(site.profile("patient"),),
        ),
        text=said(
            _words(subject, known_by) + (" This record was joined to another one." if gone else "")
        ),
        identifier=_identifiers(subject, known_by),
        active=False if gone else None,
        name=_names(subject),
        gender=None if subject.sex is None else subject.sex.value,
        birth_date=subject.birth_date,
        link=tuple(links),
    )


def _identifiers(subject: Subject, known_by: tuple[KnownBy, ...]) -> tuple[Identifier, ...]:
    told = map(identifier_of, (subject.identifier, *subject.more_identifiers))
    more = [
        replace(identifier_of(one.identifier), use="old" if one.is_old else None)
        for one in known_by
    ]
    return (*told, *more)


def _links(family: Family) -> list[PatientLink]:
    links = [PatientLink(_patient(one.patient), "replaces") for one in family.replaces]
    if family.replaced_by is not None:
        links.append(PatientLink(_patient(family.replaced_by), "replaced-by"))
    return links


def _patient(patient: str) -> Reference:
    return Reference(reference=f"Patient/{patient}", type="Patient")


def _names(subject: Subject) -> tuple[HumanName, ...]:
    name = subject.name
    if name is None or not (name.family or name.given):
        return ()
    family = tidy(name.family) if name.family else None
    given = (tidy(name.given),) if name.given else ()
    return (HumanName(family=family, given=given),)


def _words(subject: Subject, known_by: tuple[KnownBy, ...]) -> str:
    name = subject.name
    others = [one.value for one in subject.more_identifiers]
    others += [one.identifier.value for one in known_by if not one.is_old]
    old = [one.identifier.value for one in known_by if one.is_old]
    known = (
        ("Name", " ".join(filter(None, (name.given, name.family))) if name else ""),
        ("Identifier", subject.identifier.value),
        ("Other identifiers", ", ".join(others)),
        ("Former identifiers", ", ".join(old)),
        ("Born", subject.birth_date.isoformat() if subject.birth_date else ""),
        ("Sex", subject.sex.value if subject.sex else ""),
    )
    return ". ".join(f"{label}: {value}" for label, value in known if value) + "."
