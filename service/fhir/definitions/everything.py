"""What is published, all of it?"""

from service.fhir.definitions.activities import activities
from service.fhir.definitions.code_systems import code_systems, value_sets
from service.fhir.definitions.concept_maps import concept_maps
from service.fhir.definitions.extensions import extensions
from service.fhir.definitions.heads import Definition
from service.fhir.definitions.operations import operations
from service.fhir.definitions.plan_definition import plan_definition
from service.fhir.definitions.profiles import profiles
from service.fhir.definitions.questionnaire import questionnaire
from service.fhir.definitions.search_parameters import search_parameters
from service.fhir.site import Site

KEPT = 16
_made: list[tuple[Site, tuple[Definition, ...]]] = []


def all_definitions(site: Site) -> tuple[Definition, ...]:
    """Every definition of ``site`` in a fixed order, made once for the sites last asked for."""
    for known, definitions in _made:
        if known is site:
            return definitions
    definitions = _all(site)
    _made.append((site, definitions))
    del _made[:-KEPT]
    return definitions


def _all(site: Site) -> tuple[Definition, ...]:
    return (
        questionnaire(site),
        *profiles(site),
        *extensions(site),
        *code_systems(site),
        *value_sets(site),
        *concept_maps(site),
        plan_definition(site),
        *activities(site),
        *operations(site),
        *search_parameters(site),
    )
