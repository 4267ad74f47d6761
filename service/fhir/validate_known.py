"""Which profiles, code systems and value sets of our own does the validator know?"""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from msgspec import Struct

from service.fhir.base_facts import Codes, value_sets
from service.fhir.validate_finding import Finding
from service.fhir.validate_profile_tree import Profile, profile_of

Json = Mapping[str, Any]


class Known(Struct, frozen=True):
    """``profiles``: by canonical without version. ``systems``: canonical → every code of it.
    ``value_sets``: canonical without version → the codes of a set. ``responses``: canonical of
    a questionnaire without version → what is wrong with a response that stands at a path.
    ``rooms``: where all of ours stand, so that what is not there is none of ours."""

    profiles: Mapping[str, Profile]
    systems: Mapping[str, frozenset[str]]
    value_sets: Mapping[str, Codes]
    responses: Mapping[str, Callable[[Json, str], Iterable[Finding]]] = {}
    rooms: frozenset[str] = frozenset()

    def codes(self, value_set: str) -> Codes | None:
        """The codes of a set; None where it is not a list that is known here."""
        official = value_sets().get(value_set)
        if official is not None:
            return official
        return self.value_sets.get(value_set.partition("|")[0])

    def lacks(self, address: str) -> bool:
        """Whether it is the address of a code system or profile of ours that there is not."""
        known = address in self.profiles or address in self.systems
        return not known and "/" in address and _room(address) in self.rooms


NOTHING = Known({}, {}, {})


def _room(address: str) -> str:
    return address.rpartition("/")[0]


def known_from(definitions: Iterable[Json]) -> Known:
    """What ``definitions``, as plain JSON, define."""
    listed = list(definitions)
    systems = {
        each["url"]: frozenset(_codes(each.get("concept", ())))
        for each in _of(listed, "CodeSystem")
        if each.get("content") == "complete"
    }
    profiles = [each for each in _of(listed, "StructureDefinition") if "snapshot" in each]
    sets = {each["url"]: _set(each, systems) for each in _of(listed, "ValueSet")}
    return Known(
        {each["url"]: profile_of(each) for each in profiles},
        systems,
        {url: codes for url, codes in sets.items() if codes is not None},
        rooms=frozenset(_room(each["url"]) for each in (*profiles, *_of(listed, "CodeSystem"))),
    )


def _of(definitions: list[Json], kind: str) -> list[Json]:
    return [each for each in definitions if each["resourceType"] == kind]


def _codes(concepts: Iterable[Json]) -> list[str]:
    return [code for each in concepts for code in (each["code"], *_codes(each.get("concept", ())))]


def _set(value_set: Json, systems: Mapping[str, frozenset[str]]) -> Codes | None:
    """None where a part of it is a filter, another set, or a system that is not kept."""
    held: dict[str, frozenset[str]] = {}
    compose = value_set.get("compose", {})
    if "exclude" in compose:
        return None
    for part in compose.get("include", ()):
        system = part.get("system")
        if "filter" in part or "valueSet" in part or system is None:
            return None
        listed = part.get("concept")
        if listed is None and system not in systems:
            return None
        codes = systems[system] if listed is None else frozenset(each["code"] for each in listed)
        held[system] = held.get(system, frozenset()) | codes
    return held
