"""Which condition does each ordered precaution stand for?"""

from service.domain.condition import Condition
from service.domain.orders import Precaution
from service.domain.profile import Finding
from service.domain.screen import Screen
from service.rules.book import RuleBook
from service.rules.finding import by_condition

_PRECAUTIONS = {
    Precaution.HIP: Condition.HIP_PRECAUTION,
    Precaution.KNEE: Condition.KNEE_PRECAUTION,
    Precaution.STERNAL: Condition.STERNAL_PRECAUTION,
    Precaution.SPINE_STABLE: Condition.SPINE_STABLE_PRECAUTION,
    Precaution.SPINE_UNSTABLE: Condition.UNSTABLE_SPINE,
    Precaution.ABDOMINAL_WOUND: Condition.ABDOMINAL_WOUND,
    Precaution.STOMA: Condition.STOMA,
    Precaution.RIB_FRACTURE: Condition.RIB_FRACTURE,
    Precaution.SHOULDER_INJURY_LEFT: Condition.SHOULDER_INJURY,
    Precaution.SHOULDER_INJURY_RIGHT: Condition.SHOULDER_INJURY,
    Precaution.UNSTABLE_MAJOR_FRACTURE: Condition.UNSTABLE_MAJOR_FRACTURE,
    Precaution.SEVERE_OSTEOPOROSIS: Condition.SEVERE_OSTEOPOROSIS,
    Precaution.CONTRACTURE_HIP: Condition.CONTRACTURE,
    Precaution.CONTRACTURE_KNEE: Condition.CONTRACTURE,
    Precaution.CONTRACTURE_ANKLE: Condition.CONTRACTURE,
    Precaution.SPASMS: Condition.SPASMS,
    Precaution.FRAGILE_SKIN: Condition.FRAGILE_SKIN,
    Precaution.PRESSURE_INJURY: Condition.PRESSURE_INJURY,
    Precaution.TUBES_OR_LINES: Condition.TUBES_OR_LINES,
    Precaution.AMPUTATION_LEFT_LEG: Condition.AMPUTATION,
    Precaution.AMPUTATION_RIGHT_LEG: Condition.AMPUTATION,
    Precaution.AMPUTATION_LEFT_ARM: Condition.AMPUTATION,
    Precaution.AMPUTATION_RIGHT_ARM: Condition.AMPUTATION,
    Precaution.RECENT_SEDATION: Condition.RECENT_SEDATION,
    Precaution.POSTURAL_HYPOTENSION: Condition.POSTURAL_HYPOTENSION,
    Precaution.SEVERE_PAIN: Condition.SEVERE_PAIN,
}


def ordered(book: RuleBook, screen: Screen) -> dict[Condition, tuple[Finding, ...]]:
    """Each condition that a precaution orders, with the places that order it."""
    found: dict[Condition, tuple[Finding, ...]] = {}
    for index, precaution in enumerate(screen.orders.precautions):
        condition = _PRECAUTIONS[precaution]
        place = by_condition(book, condition, f"/orders/precautions/{index}", precaution)
        found[condition] = (*found.get(condition, ()), place)
    return found
