"""How do resources name the person, the stay, the assessor and the software?"""

from service.domain.plan import RuleBookRef
from service.domain.record import ScreenRecord
from service.domain.screen import Assessor
from service.domain.value import Clinician
from service.domain.value import Identifier as NativeIdentifier
from service.fhir.site import Site
from service.fhir.structs import Identifier, Reference
from service.fhir.text import tidy, tidy_uri


def identifier_of(native: NativeIdentifier) -> Identifier:
    return Identifier(tidy_uri(native.system), tidy(native.value))


def patient_id(record: ScreenRecord) -> str:
    """The patient's id; a previewed screen has no patient yet and lends its own id."""
    return record.patient_id or f"{record.id}-patient"


def subject_of(site: Site, record: ScreenRecord, patient: str | None = None) -> Reference:
    """Where the person is found, of which type, and the business identifier beside it.

    ``patient``: our id of the person, where it is no longer the one of the screen.
    """
    known = record.content.patient.identifier
    return Reference(
        reference=site.patient(patient or patient_id(record), known.value),
        type="Patient",
        identifier=identifier_of(known),
    )


def encounter_of(record: ScreenRecord) -> Reference | None:
    """The stay, by its business identifier: it is not ours to serve."""
    stay = record.content.encounter
    if stay is None:
        return None
    return Reference(type="Encounter", identifier=identifier_of(stay))


def assessor_of(record: ScreenRecord) -> Reference | None:
    """Who screened."""
    assessor = record.content.assessor
    return None if assessor is None else practitioner_of(assessor)


def practitioner_of(clinician: Clinician | Assessor) -> Reference:
    """By business identifier, the role in words."""
    role = None if clinician.role is None else tidy(clinician.role)
    return Reference(
        type="Practitioner", identifier=identifier_of(clinician.identifier), display=role
    )


def software_of(site: Site, ref: RuleBookRef) -> Reference:
    """The software with the rule book that it used, which need not be the one in use now."""
    return Reference(
        type="Device",
        identifier=Identifier(site.identifier_system("rule-book"), ref.digest),
        display=f"Stanchion, rule book {ref.version}",
    )
