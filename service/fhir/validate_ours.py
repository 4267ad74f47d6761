"""What of our own is a resource held to: the profiles and codes of a site?"""

from functools import cache

from service.fhir.own_systems import own_systems
from service.fhir.site import CANONICAL, Site, code_system, site_of
from service.fhir.validate_known import Known
from service.rules.load import load_book

_KNOWN: dict[tuple[str, str], Known] = {}


def known_at(site: Site) -> Known:
    """Made once for each rule book and canonical."""
    key = (site.canonical, site.book.ref.digest)
    known = _KNOWN.get(key)
    if known is None:
        systems = own_systems(site.book)
        codes = {
            code_system(site.canonical, kind): frozenset(system.codes)
            for kind, system in systems.items()
        }
        known = _KNOWN[key] = Known({}, codes, {})
    return known


@cache
def known_here() -> Known:
    """For the rule book that comes with the service, under its own canonical."""
    return known_at(site_of(load_book(), CANONICAL))
