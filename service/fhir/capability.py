"""What does this service do over FHIR? The CapabilityStatement, made from what is registered."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from msgspec import Struct

from service import __version__
from service.fhir.audit_parameters import SEARCHED
from service.fhir.definitions.find import PARAMETERS as DEFINITION_PARAMETERS
from service.fhir.definitions.heads import PUBLISHER
from service.fhir.narrative import bullets, narrative
from service.fhir.notices import notice_of
from service.fhir.search_control import MOST_OF, most_of
from service.fhir.search_parameters import DEFINITIONS, INCLUDES, REV_INCLUDES, Parameter
from service.fhir.site import Site
from service.fhir.structs import Element, Resource

_VALIDATE = "http://hl7.org/fhir/OperationDefinition/Resource-validate"
_TYPES = {"url": "uri", "version": "token", "name": "string", "title": "string", "status": "token"}
_PROFILES: Mapping[str, tuple[str, ...]] = {
    "Patient": ("patient",),
    "Observation": ("panel", "finding", "vital-sign"),
    "QuestionnaireResponse": ("questionnaire-response",),
    "CarePlan": ("care-plan",),
    "Goal": ("goal",),
    "Flag": ("flag",),
    "Task": ("task",),
    "Device": ("device",),
    "Provenance": ("provenance",),
}
_ABOUT = (
    "A bedside mobility screen comes in as a QuestionnaireResponse; findings, a care plan with a"
    " method for every move, goals, flags and the next screen that is due come out."
)


class Registered(Struct, frozen=True):
    """Of one resource type: the interactions and the operations that have an address."""

    kind: str
    interactions: tuple[str, ...]
    operations: tuple[str, ...] = ()
    conditional_create: bool = False
    conditional_update: bool = False


class Interaction(Element, frozen=True):
    code: str


class SearchParam(Element, frozen=True, kw_only=True):
    name: str
    definition: str | None = None
    type: str
    documentation: str | None = None


class Operation(Element, frozen=True):
    name: str
    definition: str


class Served(Element, frozen=True, kw_only=True):
    """One resource type. What holds for all types alike has no default, or it were not told."""

    type: str
    supported_profile: tuple[str, ...] = ()
    documentation: str | None = None
    interaction: tuple[Interaction, ...] = ()
    versioning: str
    read_history: bool
    update_create: bool
    conditional_create: bool
    conditional_read: str
    conditional_update: bool
    conditional_delete: str
    search_include: tuple[str, ...] = ()
    search_rev_include: tuple[str, ...] = ()
    search_param: tuple[SearchParam, ...] = ()
    operation: tuple[Operation, ...] = ()


class Rest(Element, frozen=True, kw_only=True):
    mode: str
    documentation: str
    security: Any
    resource: tuple[Served, ...]
    interaction: tuple[Interaction, ...]
    operation: tuple[Operation, ...] = ()


class Software(Element, frozen=True):
    name: str
    version: str


class Implementation(Element, frozen=True):
    description: str
    url: str


class CapabilityStatement(Resource, frozen=True, kw_only=True, tag=True):
    url: str
    version: str
    name: str
    title: str
    status: str
    experimental: bool
    date: datetime
    publisher: str
    description: str
    copyright: str | None = None
    kind: str
    software: Software
    implementation: Implementation
    fhir_version: str
    format: tuple[str, ...]
    rest: tuple[Rest, ...]


def capability_of(
    site: Site,
    registered: Iterable[Registered],
    system: tuple[str, ...],
    operations: tuple[str, ...],
    security: Any,
    date: datetime,
) -> CapabilityStatement:
    """``system``: the interactions with no type; ``operations``: those called at the base."""
    served = tuple([_served(site, one) for one in registered])
    rest = _rest(site, served, system, operations, security)
    told = [f"{one.type}: {', '.join(each.code for each in one.interaction)}" for one in served]
    return CapabilityStatement(
        id="stanchion",
        text=narrative(bullets(_ABOUT, told)),
        url=f"{site.canonical}/CapabilityStatement/stanchion",
        version=__version__,
        name="Stanchion",
        title="Stanchion over FHIR R4",
        status="active",
        experimental=False,
        date=date,
        publisher=PUBLISHER,
        description=_ABOUT,
        copyright=notice_of(*site.standard),
        kind="instance",
        software=Software("Stanchion", __version__),
        implementation=Implementation("Stanchion, safe patient handling", site.base),
        fhir_version="4.0.1",
        format=("application/fhir+json", "json"),
        rest=(rest,),
    )


def _rest(
    site: Site,
    served: tuple[Served, ...],
    system: tuple[str, ...],
    operations: tuple[str, ...],
    security: Any,
) -> Rest:
    return Rest(
        mode="server",
        documentation=(
            f"A page has 50 entries where _count is not given, 20 of CarePlan. {_most()} Unknown"
            " parameters are"
            " left out and told, or refused with Prefer: handling=strict. Send business"
            " identifiers by POST _search. _summary and _elements are taken by reads, histories"
            f" and searches; _sort by {_sorted()}, further keys and _id behind commas. Nothing is"
            " ever deleted."
        ),
        security=security,
        resource=served,
        interaction=tuple([Interaction(code) for code in system]),
        operation=tuple([_operation(site, name) for name in operations]),
    )


def _most() -> str:
    most = ", ".join(f"{kind} {count}" for kind, count in MOST_OF.items())
    return f"At most: {most}, others {most_of('')}."


def _sorted() -> str:
    keys = {name for listed in SEARCHED.values() for name, one in listed.items() if one.order}
    return ", ".join(sorted(keys))


def _served(site: Site, one: Registered) -> Served:
    kind, searched = one.kind, "search-type" in one.interactions
    return Served(
        type=kind,
        supported_profile=tuple([site.profile(name) for name in _PROFILES.get(kind, ())]),
        interaction=tuple([Interaction(code) for code in one.interactions]),
        versioning="versioned" if "vread" in one.interactions else "no-version",
        read_history="vread" in one.interactions,
        update_create=False,
        conditional_create=one.conditional_create,
        conditional_read="full-support" if "read" in one.interactions else "not-supported",
        conditional_update=one.conditional_update,
        conditional_delete="not-supported",
        search_include=INCLUDES.get(kind, ()) if searched else (),
        search_rev_include=REV_INCLUDES.get(kind, ()) if searched else (),
        search_param=_parameters(site, kind) if searched else (),
        operation=tuple([_operation(site, name) for name in one.operations]),
    )


def _parameters(site: Site, kind: str) -> tuple[SearchParam, ...]:
    if kind not in SEARCHED:
        return tuple([_of_definition(name) for name in DEFINITION_PARAMETERS])
    return tuple(
        [
            SearchParam(
                name=name,
                definition=_definition(site, kind, name, one),
                type=one.kind,
                documentation=one.text,
            )
            for name, one in SEARCHED[kind].items()
        ]
    )


def _definition(site: Site, kind: str, name: str, one: Parameter) -> str:
    if one.definition:
        return DEFINITIONS + one.definition
    return f"{site.canonical}/SearchParameter/{kind.lower()}-{name}"


def _of_definition(name: str) -> SearchParam:
    if name == "_id":
        return SearchParam(name=name, definition=f"{DEFINITIONS}Resource-id", type="token")
    return SearchParam(name=name, type=_TYPES[name])


def _operation(site: Site, name: str) -> Operation:
    if name == "validate":
        return Operation(name, _VALIDATE)
    return Operation(name, f"{site.canonical}/OperationDefinition/{name}")
