"""Which Bundle tells a recorded answer, with all that is known around it?"""

from service.application.told_whole import Told
from service.domain.record import Answer
from service.fhir.bundle import bundle_of
from service.fhir.finding_history import findings_of
from service.fhir.patient_history import patient_at
from service.fhir.resources import Bundle
from service.fhir.site import Site


def told_bundle(site: Site, answer: Answer, told: Told) -> Bundle:
    """The answer, each finding in the version of the screen that last changed it."""
    findings = findings_of(site, told.history).newest() if told.history else None
    patient = None if told.person is None else patient_at(site, told.person)
    return bundle_of(site, answer, told.events, findings, told.standing, patient)
