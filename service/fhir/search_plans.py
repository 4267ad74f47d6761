"""What does a search ask of a plan whose document nobody read?"""

from msgspec import Struct

from service.application.search_ports import SeenPlan
from service.fhir.care_plan import STATUSES, categories
from service.fhir.site import Site
from service.fhir.structs import CodeableConcept, Meta, Period


class SearchedPlan(Struct, frozen=True):
    """The elements of a CarePlan that its search parameters look at, and no other."""

    id: str
    status: str
    category: tuple[CodeableConcept, ...]
    period: Period
    meta: Meta


def searched_plan(site: Site, seen: SeenPlan) -> SearchedPlan:
    """As ``care_plan_of`` would tell them."""
    usual, *early = STATUSES[seen.state]
    return SearchedPlan(
        id=seen.id,
        status=early[0] if seen.ended_early else usual,
        category=categories(site),
        period=Period(seen.valid_from, seen.valid_until),
        meta=Meta(last_updated=seen.changed_at),
    )
