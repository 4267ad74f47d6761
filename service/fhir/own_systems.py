"""Which code systems are ours, all of them?"""

from service.fhir.own_codes import OwnSystem, OwnSystems
from service.fhir.own_rule_codes import rule_systems
from service.fhir.own_screen_codes import screen_systems
from service.fhir.own_sent_codes import sent_systems
from service.rules.book import RuleBook


def own_systems(book: RuleBook) -> OwnSystems:
    """By kind. Where the rule book has words for what a screen names, those stand."""
    found: dict[str, OwnSystem] = {one.kind: one for one in (*sent_systems(), *screen_systems())}
    found.update({one.kind: one for one in rule_systems(book)})
    return dict(sorted(found.items()))
