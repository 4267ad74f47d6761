"""How does the answer for one move become an activity of the CarePlan?"""

from collections.abc import Callable

from service.domain.plan import Brakes, Device, Plan, PlannedMove, PlanState
from service.domain.reason import Reason
from service.fhir.narrative import bullets, listed, safe
from service.fhir.overrule import Moment, choice_extension, choice_story, choice_words
from service.fhir.reasons import evidence, reason_code, reason_words
from service.fhir.resources import Activity, ActivityDetail
from service.fhir.site import Site
from service.fhir.structs import CodeableConcept, Extension, Period
from service.fhir.text import sentence, tidy, words

ACTIVITY_STATUS = {
    PlanState.CURRENT: "scheduled",
    PlanState.SUPERSEDED: "cancelled",
    PlanState.LAPSED: "cancelled",
    PlanState.WITHDRAWN: "entered-in-error",
}
"""A plan that no longer holds must not show its moves as things to do."""
_BRAKES = {
    Brakes.LOCKED: " (brakes locked)",
    Brakes.RELEASED: " (brakes released)",
    Brakes.NOT_APPLICABLE: "",
}


def activity_of(site: Site, plan: Plan, move: PlannedMove, period: Period, at: Moment) -> Activity:
    """One activity, always a positive one: "do not move now" is a thing to do as well, and what
    a clinician chose is the one thing to do in the place of what was computed.

    ``period``: how long the plan holds.
    """
    method = site.concept("method", move.method, move.method_title)
    version = (move.overrule or plan).rule_book.version
    reasons = _reasons(move)
    return Activity(
        ActivityDetail(
            extension=_extensions(site, move),
            instantiates_canonical=(site.definition("ActivityDefinition", move.method, version),),
            code=method,
            reason_code=tuple([reason_code(site, one) for one in reasons]),
            reason_reference=evidence(plan.screen_id, reasons),
            status=ACTIVITY_STATUS[plan.state],
            scheduled_period=period,
            description=tidy(description_of(move, at)),
        )
    )


def description_of(move: PlannedMove, at: Moment) -> str:
    """All that a nurse needs for this move, in words; that a clinician chose it comes first."""
    told = f"{move.method_title}. {move.plain} {_means(move)}"
    return f"{choice_words(move, at)} {told}" if move.overrule else told


def move_story(move: PlannedMove, at: Moment) -> str:
    """The move in XHTML: what to do, in which steps, and what to look out for."""
    heading = safe(f"{move.move_title}: {move.method_title}")
    steps = tuple([f"{step.text}{_BRAKES[step.brakes]}" for step in move.steps])
    return (
        f"<h3>{heading}</h3>{choice_story(move, at)}"
        f"<p>{safe(move.plain)} {safe(_means(move))}</p>"
        + bullets("Why", move.why or [reason_words(reason) for reason in move.because])
        + listed("Steps", steps, "ol")
        + listed("Take care", tuple([caution.text for caution in move.cautions]))
        + listed("Stop at once", tuple([sign.text for sign in move.stop_signs]))
    )


def _means(move: PlannedMove) -> str:
    return " ".join([part for part in [tell(move) for tell in _TOLD] if part])


def _helpers(move: PlannedMove) -> str:
    """The plain sentence counts the helpers; here is what else is asked of them."""
    if move.helpers is None:
        return "Helpers: as the clinician directs."
    trained = ", ".join([words(one) for one in move.training])
    count = f"{move.helpers} helper{'' if move.helpers == 1 else 's'}"
    return f"Needs {count}" + (f", trained in {trained}." if trained else ".")


def _device(move: PlannedMove) -> str:
    return f"Equipment: {_device_words(move.device)}." if move.device else ""


def _device_words(device: Device) -> str:
    label = f", {device.label}" if device.label else ""
    return f"{device.title}{label}" + (", expanded capacity" if device.expanded_capacity else "")


def _accessories(move: PlannedMove) -> str:
    told = "; ".join([f"{one.title} ({one.reason})" for one in move.accessories])
    return f"With: {told}." if told else ""


def _wait(move: PlannedMove) -> str:
    return f"Wait for: {'; '.join(move.wait_for)}." if move.wait_for else ""


def _margin(move: PlannedMove) -> str:
    return f"Only just enough: {', '.join(map(words, move.margin))}." if move.margin else ""


def _ask_next(move: PlannedMove) -> str:
    return f"Ask or test next: {move.ask_next.text}" if move.ask_next else ""


_TOLD: tuple[Callable[[PlannedMove], str], ...] = (
    _helpers,
    _device,
    _accessories,
    _wait,
    _margin,
    _ask_next,
)


def _reasons(move: PlannedMove) -> tuple[Reason, ...]:
    """What the method rests on, and all that the rules hold against a clinician's choice."""
    return (*move.because, *(move.overrule.against if move.overrule else ()))


def _extensions(site: Site, move: PlannedMove) -> tuple[Extension, ...]:
    told = [_concept(site, "move", site.concept("move", move.move.value, move.move_title))]
    if move.helpers is not None:
        told.append(Extension(url=site.extension("helpers"), value_unsigned_int=move.helpers))
    if move.device is not None:
        kind = site.concept("device-class", move.device.device_class, move.device.title)
        told.append(_concept(site, "device-class", kind))
        if move.device.label:
            label = tidy(move.device.label)
            told.append(Extension(url=site.extension("device"), value_string=label))
    for one in move.accessories:
        code = site.concept("accessory", one.accessory, one.title)
        told.append(_pair(site, "accessory", "code", code, one.reason))
    told.extend(_not_chosen(site, move))
    told.extend(choice_extension(site, move))
    return tuple(told)


def _concept(site: Site, name: str, concept: CodeableConcept) -> Extension:
    return Extension(url=site.extension(name), value_codeable_concept=concept)


def _pair(site: Site, name: str, part: str, concept: CodeableConcept, reason: str) -> Extension:
    parts = (
        Extension(url=part, value_codeable_concept=concept),
        Extension(url="reason", value_string=tidy(reason)),
    )
    return Extension(url=site.extension(name), extension=parts)


def _not_chosen(site: Site, move: PlannedMove) -> list[Extension]:
    """The next more active method and what stood against it, no other."""
    if move.would_open is None:
        return []
    next_method = move.would_open.method
    against = [one.reasons for one in move.ruled_out if one.method == next_method]
    told = " ".join([reason_words(reason) for reasons in against for reason in reasons])
    title = _title(site, next_method)
    concept = site.concept("method", next_method, title)
    return [_pair(site, "not-chosen", "method", concept, told or _changes(move))]


def _changes(move: PlannedMove) -> str:
    opened = move.would_open
    changes = opened.changes if opened else ()
    told = [f"{words(one.about)}: {one.seen}, required {one.required}" for one in changes]
    return "; ".join(told)


def _title(site: Site, method: str) -> str:
    known = site.book.methods.get(method)
    return known.title if known else sentence(method)
