"""What do we promise of every Observation that leaves: panel, findings, vital signs?"""

from collections.abc import Iterator

from msgspec.structs import replace

from service.fhir.definitions.code_systems import FINDING_CODES, value_set_url
from service.fhir.definitions.profile_elements import ElementBinding, ElementDefinition, Invariant
from service.fhir.definitions.slots import (
    BY_PATTERN,
    always,
    bound,
    invariant,
    never,
    ours,
    person,
    slot,
)
from service.fhir.site import Site
from service.fhir.structs import CodeableConcept, Coding

_CATEGORIES = "http://terminology.hl7.org/CodeSystem/observation-category"


def panel(site: Site) -> list[ElementDefinition]:
    """The screen as a whole: it holds its findings together and has no value of its own."""
    told = "A bedside mobility screen as a panel of its findings."
    root = replace(slot("Observation", told), constraint=(_status(site, "panel"),))
    return [
        root,
        *_shared(site, "survey"),
        replace(
            always("Observation.code", "A bedside mobility screen."), binding=bound(site, "finding")
        ),
        *_when(),
        never("Observation.value[x]", "The members hold the values."),
        never("Observation.dataAbsentReason", "The members say what was not seen."),
        slot("Observation.hasMember", "Every finding of this screen.", low=1, must=True),
        _derived(),
        never("Observation.component", "The members hold the values."),
    ]


def finding(site: Site) -> list[ElementDefinition]:
    """One stage, one sign of readiness, one derived grade or one test."""
    told = invariant(
        site, "stn-finding-1",
        "A finding has a value, says why it has none, or leaves it to its components.",
        "value.exists() or dataAbsentReason.exists() or component.exists()", "finding",
    )  # fmt: skip
    root = replace(
        slot("Observation", "One finding of a screen."),
        constraint=(_status(site, "finding"), told),
    )
    codes = ElementBinding(strength="required", value_set=value_set_url(site, FINDING_CODES))
    return [
        root,
        *_shared(site, None),
        replace(always("Observation.code", "Which finding."), binding=codes),
        *_when(),
        slot("Observation.value[x]", "What was found.", must=True),
        slot("Observation.dataAbsentReason", "Why nothing was found.", must=True),
        slot("Observation.interpretation", "What a published norm says of it.", must=True),
        _derived(),
        *_component(site, "finding"),
    ]


def vital_sign(site: Site) -> list[ElementDefinition]:
    """A vital sign or body size that was measured."""
    told = invariant(
        site, "stn-vital-1",
        "A vital sign has a value, components or members; it is only sent where it was measured.",
        "value.exists() or component.exists() or hasMember.exists()", "vital-sign",
    )  # fmt: skip
    root = replace(
        slot("Observation", "A vital sign or body size."),
        constraint=(_status(site, "vital-sign"), told),
    )
    return [
        root,
        *_shared(site, "vital-signs"),
        replace(
            always("Observation.code", "What was measured."), binding=bound(site, "vital-sign")
        ),
        *_when(),
        slot("Observation.value[x]", "The measured value.", kinds=("Quantity",), must=True),
        _derived(),
        *_component(site, "vital-sign"),
    ]


def _shared(site: Site, category: str | None) -> Iterator[ElementDefinition]:
    yield always("Observation.text", "The finding in words.")
    yield from ours(site, "Observation", "observation", "Ours, the same in every version.")
    yield always("Observation.status", "Final, amended by a correction, or entered in error.")
    told = slot("Observation.category", "What kind of finding it is.", low=1, must=True)
    if category is None:
        yield told
    else:
        yield replace(told, slicing=BY_PATTERN)
        pattern = CodeableConcept((Coding(_CATEGORIES, category),))
        yield replace(
            slot(f"Observation.category:{category}", "In standard words.", low=1, high="1"),
            slice_name=category,
            pattern_codeable_concept=pattern,
            must_support=True,
        )


def _status(site: Site, profile: str) -> Invariant:
    return invariant(
        site, f"stn-{profile}-status",
        "Nothing preliminary is sent, and nothing is cancelled.",
        "status = 'final' or status = 'amended' or status = 'entered-in-error'", profile,
    )  # fmt: skip


def _when() -> Iterator[ElementDefinition]:
    yield from person("Observation.subject")
    yield always("Observation.effective[x]", "When it was observed.", "dateTime")
    yield always("Observation.issued", "When it was recorded.")


def _derived() -> ElementDefinition:
    told = "The response that it was read from, and the findings that it was derived from."
    return slot("Observation.derivedFrom", told, low=1, must=True)


def _component(site: Site, profile: str) -> Iterator[ElementDefinition]:
    told = "A component has a value or says why it has none."
    holds = invariant(
        site, f"stn-{profile}-2", told, "value.exists() or dataAbsentReason.exists()", profile
    )
    part = slot("Observation.component", "A side, a sign, or a part.", must=True)
    yield replace(part, constraint=(holds,))
    yield slot("Observation.component.code", "Which part.", must=True)
    yield slot("Observation.component.value[x]", "What was found.", must=True)
    yield slot("Observation.component.dataAbsentReason", "Why nothing was found.", must=True)
