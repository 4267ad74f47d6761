"""What of our own is a resource held to: the profiles and codes of a site?"""

import json
from functools import cache, partial
from typing import Any

from msgspec.structs import replace

from service.fhir.definitions.everything import all_definitions
from service.fhir.encode import bytes_of
from service.fhir.site import CANONICAL, Site, site_of
from service.fhir.validate_known import Known, known_from
from service.fhir.validate_response import questionnaire_of, response_findings
from service.rules.load import load_book

_KEPT = 4
_made: list[tuple[Site, Known]] = []


def known_at(site: Site) -> Known:
    """What ``site`` publishes, made once for the sites last asked for."""
    for made_for, known in _made:
        if made_for is site:
            return known
    known = replace(
        known_from([_plain(each) for each in all_definitions(site)]),
        responses={questionnaire_of(site): partial(response_findings, site)},
    )
    _made.append((site, known))
    del _made[:-_KEPT]
    return known


@cache
def known_here() -> Known:
    """For the rule book that comes with the service, under its own canonical."""
    return known_at(site_of(load_book(), CANONICAL))


def _plain(resource: Any) -> dict[str, Any]:
    plain: dict[str, Any] = json.loads(bytes_of(resource))
    return plain
