"""How are our own codes published as code systems and value sets?"""

from collections.abc import Iterable

from service.fhir.definitions.code_elements import (
    CodeSystem,
    Compose,
    Concept,
    Include,
    PropertyDeclared,
    PropertyValue,
    ValueSet,
)
from service.fhir.definitions.heads import Mark, head
from service.fhir.narrative import bullets
from service.fhir.own_codes import OwnCode, OwnSystem
from service.fhir.site import Site, code_system

ORDINAL = "http://hl7.org/fhir/StructureDefinition/ordinalValue"
_PROPERTIES = {
    "source": PropertyDeclared(
        code="source", description="The source in the rule book.", type="string"
    ),
    "standing": PropertyDeclared(
        code="standing",
        description="How well it is founded: published, recalled, practice or default.",
        type="string",
    ),
}


FINDING_CODES = "finding-codes"
FINDING_KINDS = ("readiness", "stage", "axis", "number", "test")
"""The kinds of code that a finding is named by."""


def value_set_url(site: Site, kind: str) -> str:
    """The value set of every code of a kind."""
    return f"{site.canonical}/ValueSet/{kind}"


def code_systems(site: Site) -> list[CodeSystem]:
    """One for each kind of code, complete."""
    return [_system(site, one) for one in site.own.values()]


def value_sets(site: Site) -> list[ValueSet]:
    """One for each code system, all of its codes, and one of all that a finding is named by."""
    return [*[_value_set(site, one) for one in site.own.values()], _findings(site)]


def ordinal(rank: int | None) -> tuple[Mark, ...]:
    """The place of a code among those of its system, as standard tools read it."""
    return () if rank is None else (Mark(url=ORDINAL, value_decimal=rank),)


def _system(site: Site, one: OwnSystem) -> CodeSystem:
    codes = list(one.codes.values())
    used = {name for code in codes for name in _PROPERTIES if getattr(code, name)}
    return CodeSystem(
        **head(site, "CodeSystem", one.kind, one.title, one.description, _story(codes)),
        case_sensitive=True,
        value_set=value_set_url(site, one.kind),
        content="complete",
        count=len(codes),
        property=tuple([told for name, told in _PROPERTIES.items() if name in used]),
        concept=tuple([_concept(code) for code in codes]),
    )


def _concept(one: OwnCode) -> Concept:
    values = [(name, getattr(one, name)) for name in _PROPERTIES]
    return Concept(
        extension=ordinal(one.rank),
        code=one.code,
        display=one.display,
        definition=one.definition,
        property=tuple(
            [PropertyValue(code=name, value_string=value) for name, value in values if value]
        ),
    )


def _story(codes: Iterable[OwnCode]) -> str:
    return bullets("Codes", [_line(one) for one in codes])


def _line(one: OwnCode) -> str:
    told = f"{one.code}: {one.display}"
    if one.definition:
        told += f". {one.definition}"
    return f"{told} ({one.source}, {one.standing})" if one.source else told


def _findings(site: Site) -> ValueSet:
    kinds = [site.own[kind] for kind in FINDING_KINDS]
    told = "Every code that names a finding of a screen."
    story = bullets("From", [one.title for one in kinds])
    return ValueSet(
        **head(site, "ValueSet", FINDING_CODES, "Codes of findings", told, story),
        immutable=False,
        compose=Compose(include=tuple([_all_of(site, one) for one in kinds])),
    )


def _all_of(site: Site, one: OwnSystem) -> Include:
    return Include(system=code_system(site.canonical, one.kind), version=site.book.ref.version)


def _value_set(site: Site, one: OwnSystem) -> ValueSet:
    told = f"Every code of {one.title}. {one.description}"
    return ValueSet(
        **head(site, "ValueSet", one.kind, one.title, told, _story(one.codes.values())),
        immutable=False,
        compose=Compose(include=(_all_of(site, one),)),
    )
