"""Under which addresses and with which codes does a deployment speak FHIR?"""

from service.fhir.codes import LOINC, SNOMED
from service.fhir.site import OWN_PATIENTS, Site, site_of
from service.rules.book import RuleBook
from service.settings import Settings, Switch

_PATIENTS: dict[str, str | None] = {"own": OWN_PATIENTS, "none": None}


def site_for(settings: Settings, book: RuleBook) -> Site:
    """The site of a rule book, as the operator set it."""
    spoken = {LOINC: settings.fhir_loinc, SNOMED: settings.fhir_snomed}
    standard = frozenset(system for system, switch in spoken.items() if switch == Switch.ON)
    patients = _PATIENTS.get(settings.fhir_patient, settings.fhir_patient)
    return site_of(book, settings.fhir, standard=standard, patients=patients)
