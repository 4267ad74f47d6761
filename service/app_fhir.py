"""Under which addresses and with which codes does a deployment speak FHIR?"""

from service.fhir.codes import LOINC, SNOMED
from service.fhir.site import Site, site_of
from service.rules.book import RuleBook
from service.settings import Settings, Switch


def site_for(settings: Settings, book: RuleBook) -> Site:
    """The site of a rule book, as the operator set it."""
    spoken = {LOINC: settings.fhir_loinc, SNOMED: settings.fhir_snomed}
    standard = frozenset(system for system, switch in spoken.items() if switch == Switch.ON)
    return site_of(book, settings.fhir, standard=standard)
