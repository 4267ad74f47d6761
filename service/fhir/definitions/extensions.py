"""Which extensions do we send, where may they stand, and what do they hold?"""

from msgspec import Struct
from msgspec.structs import replace

from service.fhir.base_facts import FHIR_VERSION, STRUCTURE
from service.fhir.definitions.heads import head
from service.fhir.definitions.profile_elements import (
    Context,
    ElementDefinition,
    Elements,
    ElementType,
    StructureDefinition,
)
from service.fhir.definitions.slots import BY_URL, bound, never, slot
from service.fhir.definitions.snapshot import snapshot_of
from service.fhir.narrative import bullets
from service.fhir.site import Site

_DETAIL = "CarePlan.activity.detail"


class Part(Struct, frozen=True):
    """A value: of which FHIR type, for a code of ours its ``kind``, and for a reference of which
    type that is ``to`` which it leads."""

    name: str
    told: str
    type: str
    kind: str | None = None
    to: str | None = None


class Own(Struct, frozen=True):
    """An extension. ``parts``: one without a name is its only value, else they stand inside."""

    name: str
    title: str
    told: str
    parts: tuple[Part, ...]
    context: str = _DETAIL


OWN = (
    Own(
        "move", "Move", "Which move the activity answers for.",
        (Part("", "The move.", "CodeableConcept", "move"),),
    ),
    Own(
        "helpers", "Helpers", "How many trained helpers it takes. Left out where nobody is moved.",
        (Part("", "The count.", "unsignedInt"),),
    ),
    Own(
        "device-class", "Class of equipment", "By which equipment the person is moved.",
        (Part("", "The class.", "CodeableConcept", "device-class"),),
    ),
    Own(
        "device", "Device at hand", "The label of the very device that was at hand.",
        (Part("", "The label.", "string"),),
    ),
    Own(
        "accessory", "Accessory", "What goes with the method or its device, and why.",
        (
            Part("code", "The accessory.", "CodeableConcept", "accessory"),
            Part("reason", "Why it is needed.", "string"),
        ),
    ),
    Own(
        "not-chosen", "Not chosen", "The next more active method and what stood against it.",
        (
            Part("method", "The method.", "CodeableConcept", "method"),
            Part("reason", "What stood against it.", "string"),
        ),
    ),
    Own(
        "overrule", "Overrule", "That a clinician chose the method, in place of what was computed.",
        (
            Part("computed", "The method that the rules gave.", "CodeableConcept", "method"),
            Part("reason", "Why the clinician chose otherwise.", "string"),
            Part("by", "Who answers for it, by business identifier; the role in words.",
                 "Reference", to="Practitioner"),
            Part("at", "When it was chosen.", "dateTime"),
            Part("lessSupported", "Whether it asks more of the person than the rules allow for.",
                 "boolean"),
        ),
    ),
    Own(
        "correction-reason", "Reason of a correction", "Why a screen was corrected or withdrawn.",
        (Part("", "The reason.", "string"),), "QuestionnaireResponse",
    ),
)  # fmt: skip


def extensions(site: Site) -> list[StructureDefinition]:
    return [_definition(site, one) for one in OWN]


def _definition(site: Site, one: Own) -> StructureDefinition:
    changes = _differential(site, one)
    holds = [f"{part.name or 'value'}: {part.told} ({part.type})" for part in one.parts]
    return StructureDefinition(
        **head(site, "StructureDefinition", one.name, one.title, one.told, bullets("Holds", holds)),
        fhir_version=FHIR_VERSION,
        kind="complex-type",
        abstract=False,
        context=(Context("element", one.context),),
        type="Extension",
        base_definition=f"{STRUCTURE}Extension",
        derivation="constraint",
        snapshot=Elements(tuple(snapshot_of("Extension", changes))),
        differential=Elements(tuple(changes)),
    )


def _differential(site: Site, one: Own) -> list[ElementDefinition]:
    root = slot("Extension", one.told)
    url = replace(
        slot("Extension.url", "Which extension it is."), fixed_uri=site.extension(one.name)
    )
    if not one.parts[0].name:
        no_parts = never("Extension.extension", "Its value says it all.")
        return [root, no_parts, url, _value(site, "Extension", one.parts[0])]
    inside = replace(slot("Extension.extension", "Its parts.", low=len(one.parts)), slicing=BY_URL)
    parts = [each for part in one.parts for each in _part(site, part)]
    return [root, inside, *parts, url, never("Extension.value[x]", "Its parts say it all.")]


def _part(site: Site, part: Part) -> list[ElementDefinition]:
    place = f"Extension.extension:{part.name}"
    return [
        replace(slot(place, part.told, low=1, high="1"), slice_name=part.name),
        never(f"{place}.extension", "Its value says it all."),
        replace(slot(f"{place}.url", "Which part it is."), fixed_uri=part.name),
        _value(site, place, part),
    ]


def _value(site: Site, place: str, part: Part) -> ElementDefinition:
    value = slot(f"{place}.value[x]", part.told, low=1)
    return replace(
        value,
        type=(ElementType(code=part.type, target_profile=_targets(part)),),
        binding=None if part.kind is None else bound(site, part.kind),
    )


def _targets(part: Part) -> tuple[str, ...]:
    return () if part.to is None else (f"{STRUCTURE}{part.to}",)
