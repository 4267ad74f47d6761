"""Which profiles do our resources keep, and what does each promise?"""

from collections.abc import Callable
from typing import NamedTuple

from service.fhir.base_facts import FHIR_VERSION, STRUCTURE
from service.fhir.definitions import observation_profiles as observations
from service.fhir.definitions import other_profiles as others
from service.fhir.definitions.heads import head
from service.fhir.definitions.plan_profile import care_plan
from service.fhir.definitions.profile_elements import (
    ElementDefinition,
    Elements,
    StructureDefinition,
)
from service.fhir.definitions.snapshot import snapshot_of
from service.fhir.narrative import bullets
from service.fhir.site import Site

_PREFIX = "stanchion-"


class Kept(NamedTuple):
    """``type`` is the resource that is profiled."""

    type: str
    title: str
    promises: Callable[[Site], list[ElementDefinition]]


PROFILES: dict[str, Kept] = {
    "patient": Kept("Patient", "Patient", others.patient),
    "questionnaire-response": Kept("QuestionnaireResponse", "Screen as answered", others.response),
    "panel": Kept("Observation", "Screen as a panel", observations.panel),
    "finding": Kept("Observation", "Finding", observations.finding),
    "vital-sign": Kept("Observation", "Vital sign", observations.vital_sign),
    "care-plan": Kept("CarePlan", "Safe patient handling plan", care_plan),
    "provenance": Kept("Provenance", "Where a plan comes from", others.provenance),
    "goal": Kept("Goal", "Next goal", others.goal),
    "flag": Kept("Flag", "Warning at the bedside", others.flag),
    "task": Kept("Task", "Screen due", others.task),
    "device": Kept("Device", "Software", others.device),
}
"""By the name under which ``site.profile`` knows them."""


def profiles(site: Site) -> list[StructureDefinition]:
    return [_profile(site, name, kept) for name, kept in PROFILES.items()]


def _profile(site: Site, name: str, kept: Kept) -> StructureDefinition:
    changes = kept.promises(site)
    told = str(changes[0].definition)
    promised = [_promise(one) for one in changes[1:]]
    story = bullets("Promised", promised)
    return StructureDefinition(
        **head(site, "StructureDefinition", f"{_PREFIX}{name}", kept.title, told, story),
        fhir_version=FHIR_VERSION,
        kind="resource",
        abstract=False,
        type=kept.type,
        base_definition=f"{STRUCTURE}{kept.type}",
        derivation="constraint",
        snapshot=Elements(tuple(snapshot_of(kept.type, changes))),
        differential=Elements(tuple(changes)),
    )


def _promise(one: ElementDefinition) -> str:
    """An element in words: where, how often, what for."""
    if one.max == "0":
        return f"{one.id}: never. {one.short}"
    often = "always" if one.min else "where there is one"
    rules = "".join([f" {rule.human}" for rule in one.constraint])
    return f"{one.id}: {often}. {one.short}{rules}"
