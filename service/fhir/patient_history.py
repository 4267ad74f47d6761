"""How is a person told as they were known after one of the things that told of them?"""

from msgspec.structs import replace

from service.application.person_history import Person
from service.fhir.patient import patient_of
from service.fhir.resources import Patient
from service.fhir.site import Site


def patient_at(site: Site, person: Person) -> Patient:
    """The Patient in that version."""
    turn = person.turn
    made = patient_of(site, person.record, turn.family, person.known_by)
    return replace(made, meta=replace(made.meta, version_id=turn.version, last_updated=turn.at))
