"""What do we promise of every CarePlan that leaves?"""

from collections.abc import Iterator

from msgspec.structs import replace

from service.fhir.definitions.extensions import OWN
from service.fhir.definitions.profile_elements import ElementDefinition, ElementType, Invariant
from service.fhir.definitions.slots import (
    BY_PATTERN,
    BY_URL,
    always,
    bound,
    invariant,
    never,
    ours,
    person,
    slot,
)
from service.fhir.overrule import BEGIN, LESS
from service.fhir.site import Site, code_system
from service.fhir.structs import CodeableConcept, Coding
from service.rules.build import LAST_RESORT

_DETAIL = "CarePlan.activity.detail"
_MANY = ("accessory",)
_EACH = ("move",)


def care_plan(site: Site) -> list[ElementDefinition]:
    return [
        slot("CarePlan", "How a person is moved, one activity a move, until the plan ends."),
        always("CarePlan.text", "The whole plan in words."),
        *ours(site, "CarePlan", "plan", "Ours, the same in every version."),
        slot("CarePlan.instantiatesCanonical", "The rules that made it.", low=1, must=True),
        slot("CarePlan.replaces", "The plan of an earlier screen.", must=True),
        always("CarePlan.status", "Anything but active: do not use it."),
        replace(always("CarePlan.intent", "Always a plan, never an order."), fixed_code="plan"),
        *_category(site),
        always("CarePlan.title", "What it is."),
        always("CarePlan.description", "Until when it holds, and each move in brief."),
        *person("CarePlan.subject"),
        always("CarePlan.period", "From when until when it holds."),
        always("CarePlan.period.start", "When it begins."),
        always("CarePlan.period.end", "When it ends by itself."),
        always("CarePlan.created", "When it was made."),
        always("CarePlan.author", "The software, with the digest of its rule book."),
        slot("CarePlan.supportingInfo", "The response and the panel.", low=1, must=True),
        slot("CarePlan.activity", "One for each move.", must=True),
        never("CarePlan.activity.reference", "A request would look like an order."),
        *_activity(site),
        slot(
            "CarePlan.note",
            "What the plan says as a whole; each choice of a clinician, by whom and when.",
            must=True,
        ),
    ]


def _category(site: Site) -> Iterator[ElementDefinition]:
    own = Coding(code_system(site.canonical, "care-plan-category"), "safe_patient_handling")
    told = slot("CarePlan.category", "Which plan it is.", low=1, must=True)
    yield replace(told, slicing=BY_PATTERN)
    yield replace(
        slot("CarePlan.category:own", "A plan for safe patient handling.", low=1, high="1"),
        slice_name="own",
        pattern_codeable_concept=CodeableConcept((own,)),
        must_support=True,
    )


def _activity(site: Site) -> Iterator[ElementDefinition]:
    yield replace(always(_DETAIL, "What is done for this move."), constraint=_invariants(site))
    yield replace(
        slot(f"{_DETAIL}.extension", "The same in parts, for machines.", low=1), slicing=BY_URL
    )
    yield from _extensions(site)
    told = "The method in full: steps, cautions, stop signs, sources."
    yield slot(f"{_DETAIL}.instantiatesCanonical", told, low=1, high="1", must=True)
    code = always(
        f"{_DETAIL}.code",
        "The method, a clinician's where one chose otherwise. Not moving the person is one too.",
    )
    yield replace(code, binding=bound(site, "method"))
    yield slot(
        f"{_DETAIL}.reasonCode", "Each rule that it rests on or that stands against it.", must=True
    )
    yield slot(f"{_DETAIL}.reasonReference", "The findings that it rests on.", must=True)
    yield always(f"{_DETAIL}.status", "Scheduled while the plan holds.")
    why = "Whoever drops a modifier would show a forbidden method as a thing to do."
    yield never(f"{_DETAIL}.doNotPerform", why)
    told = "All that a nurse needs, in words; first of all that a clinician chose it, if so."
    yield always(f"{_DETAIL}.description", told)


def _extensions(site: Site) -> Iterator[ElementDefinition]:
    for one in OWN:
        if one.context != _DETAIL:
            continue
        place = f"{_DETAIL}.extension:{one.name}"
        most = None if one.name in _MANY else "1"
        yield replace(
            slot(place, one.told, low=1 if one.name in _EACH else 0, high=most, must=True),
            slice_name=one.name,
            type=(ElementType(code="Extension", profile=(site.extension(one.name),)),),
        )


def _invariants(site: Site) -> tuple[Invariant, ...]:
    helpers = f"extension.where(url = '{site.extension('helpers')}').exists()"
    nobody = f"code.coding.where(code = '{LAST_RESORT}').exists()"
    method = f"coding.where(system = '{code_system(site.canonical, 'method')}').code"
    overruled = f"extension.where(url = '{site.extension('overrule')}')"
    computed = f"{overruled}.extension.where(url = 'computed').value"
    less = f"{overruled}.extension.where(url = 'lessSupported').value.where($this = true)"
    return (
        invariant(
            site, "stn-plan-1",
            "Where somebody is moved the helpers are counted; where nobody is, they are not.",
            f"{nobody} != {helpers}", "care-plan",
        ),
        invariant(
            site, "stn-plan-2", "What a clinician chose is not what was computed.",
            f"{overruled}.exists() implies ({computed}.{method} != code.{method})", "care-plan",
        ),
        invariant(
            site, "stn-plan-3", "Where a clinician chose otherwise, the words begin with that.",
            f"{overruled}.exists() implies description.startsWith('{BEGIN}')", "care-plan",
        ),
        invariant(
            site, "stn-plan-4", "A choice that is less supported is told as such in words.",
            f"{less}.exists() implies description.contains('{LESS}')", "care-plan",
        ),
    )  # fmt: skip
