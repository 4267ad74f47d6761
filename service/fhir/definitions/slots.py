"""In which words does a profile say what it promises of an element?"""

from collections.abc import Iterator

from msgspec.structs import replace

from service.fhir.base_facts import STRUCTURE
from service.fhir.definitions.code_systems import value_set_url
from service.fhir.definitions.profile_elements import (
    Discriminator,
    ElementBinding,
    ElementDefinition,
    ElementType,
    Invariant,
    Slicing,
)
from service.fhir.site import Site

BY_URL = Slicing(discriminator=(Discriminator("value", "url"),), rules="open")
BY_SYSTEM = Slicing(discriminator=(Discriminator("value", "system"),), rules="open")
BY_PATTERN = Slicing(discriminator=(Discriminator("pattern", "$this"),), rules="open")


def path_of(element_id: str) -> str:
    """The path of an element, which does not name slices."""
    return ".".join([part.partition(":")[0] for part in element_id.split(".")])


def slot(
    element_id: str,
    told: str,
    *,
    low: int | None = None,
    high: str | None = None,
    kinds: tuple[str, ...] = (),
    must: bool = False,
) -> ElementDefinition:
    """``told``: what is meant by it. ``kinds``: the only types it has."""
    return ElementDefinition(
        id=element_id,
        path=path_of(element_id),
        short=told,
        definition=told,
        min=low,
        max=high,
        type=tuple([ElementType(code=kind) for kind in kinds]),
        must_support=True if must else None,
    )


def always(element_id: str, told: str, *kinds: str) -> ElementDefinition:
    """What is sent each time."""
    return slot(element_id, told, low=1, kinds=kinds, must=True)


def person(element_id: str) -> Iterator[ElementDefinition]:
    """Whose it is: one person, never a group or a thing, and by which business identifier."""
    kind = ElementType(code="Reference", target_profile=(f"{STRUCTURE}Patient",))
    yield replace(always(element_id, "The person."), type=(kind,))
    yield always(f"{element_id}.identifier", "The person's business identifier.")


def ours(site: Site, resource: str, name: str, told: str) -> Iterator[ElementDefinition]:
    """An identifier of ours; those of others may stand beside it."""
    place = f"{resource}.identifier"
    yield replace(slot(place, told, low=1, must=True), slicing=BY_SYSTEM)
    own = slot(f"{place}:own", told, low=1, high="1", must=True)
    yield replace(own, slice_name="own")
    system = slot(f"{place}:own.system", "That it is ours.", low=1)
    yield replace(system, fixed_uri=site.identifier_system(name))
    yield slot(f"{place}:own.value", "Which one.", low=1)


def never(element_id: str, why: str) -> ElementDefinition:
    """What is never sent, and why."""
    return slot(element_id, why, high="0")


def bound(site: Site, kind: str, strength: str = "required") -> ElementBinding:
    """To every code of a kind of ours."""
    return ElementBinding(strength=strength, value_set=value_set_url(site, kind))


def invariant(site: Site, key: str, human: str, expression: str, profile: str) -> Invariant:
    return Invariant(
        key=key,
        severity="error",
        human=human,
        expression=expression,
        source=site.profile(profile),
    )
