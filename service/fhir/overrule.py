"""How is it told that a clinician chose otherwise than was computed?

Nobody who reads the words alone may take such a choice for what the rules gave, nor overlook
that it is less supported.
"""

from collections.abc import Callable, Iterable
from datetime import datetime

from service.domain.overruling import last_choices
from service.domain.plan import Overrule, Plan, PlannedMove
from service.domain.record import Overruled, PlanEvent
from service.domain.value import Clinician
from service.fhir.narrative import bullets, safe
from service.fhir.reasons import reason_words
from service.fhir.site import Site
from service.fhir.structs import Annotation, Extension
from service.fhir.subject import practitioner_of
from service.fhir.text import tidy

Moment = Callable[[datetime], str]
"""A moment as people at the place of the screen read it."""
BEGIN = "Chosen by a clinician, not computed"
LESS = "LESS SUPPORTED than computed"
_LESS = f"{LESS}: it asks more of the person than the rules allow for."


def choice_words(move: PlannedMove, at: Moment) -> str:
    """All there is to know of the choice; empty where the move is as it was computed."""
    choice = move.overrule
    if choice is None:
        return ""
    against = " ".join([reason_words(one) for one in choice.against])
    return " ".join([*_told(move, choice, at), *([f"{_AGAINST}: {against}"] if against else [])])


def choice_brief(move: PlannedMove) -> str:
    """The same in a few words, to stand behind the name of the method."""
    choice = move.overrule
    if choice is None:
        return ""
    less = f"; {LESS}" if choice.less_supported else ""
    return f" (chosen by a clinician, computed was: {choice.computed.method_title}{less})"


def choice_story(move: PlannedMove, at: Moment) -> str:
    """The same in XHTML, with what had been computed."""
    choice = move.overrule
    if choice is None:
        return ""
    told = safe(" ".join(_told(move, choice, at)))
    against = [reason_words(one) for one in choice.against]
    computed = safe(f"Was computed, is not done: {choice.computed.plain}")
    return f"<p><b>{told}</b></p>{bullets(_AGAINST, against)}<p>{computed}</p>"


def choice_extension(site: Site, move: PlannedMove) -> tuple[Extension, ...]:
    """The same for machines; none where the move is as it was computed."""
    choice = move.overrule
    if choice is None:
        return ()
    computed = site.concept("method", choice.computed.method, choice.computed.method_title)
    parts = (
        Extension(url="computed", value_codeable_concept=computed),
        Extension(url="reason", value_string=tidy(choice.reason)),
        Extension(url="by", value_reference=practitioner_of(choice.by)),
        Extension(url="at", value_date_time=choice.at),
        Extension(url="lessSupported", value_boolean=choice.less_supported),
    )
    return (Extension(url=site.extension("overrule"), extension=parts),)


def choice_notes(plan: Plan, events: Iterable[PlanEvent], at: Moment) -> list[Annotation]:
    """Each choice that stands, and each that was taken back, by whom and when."""
    standing = [
        Annotation(tidy(f"{move.move_title}: {choice_words(move, at)}"), move.overrule.at)
        for move in plan.moves
        if move.overrule is not None
    ]
    back = [
        Annotation(tidy(_taken_back(said, event, at)), event.at)
        for event, said in last_choices(events).values()
        if said.back
    ]
    return [*standing, *back]


def choosers(plan: Plan) -> tuple[Clinician, ...]:
    """Whose choices stand in the plan, each once."""
    return tuple(dict.fromkeys([one.overrule.by for one in plan.moves if one.overrule is not None]))


_AGAINST = "What stands against it"


def _told(move: PlannedMove, choice: Overrule, at: Moment) -> list[str]:
    instead = choice.computed.method_title
    return [
        f"{BEGIN}: {move.method_title}, in place of what was computed: {instead}.",
        *([_LESS] if choice.less_supported else []),
        _by(choice.by, at(choice.at), choice.reason),
    ]


def _by(by: Clinician, when: str, reason: str) -> str:
    return f"By: {by.role or 'clinician'}, {when}. Reason: {reason.rstrip('.')}."


def _taken_back(said: Overruled, event: PlanEvent, at: Moment) -> str:
    move = said.answer
    return (
        f"{move.move_title}: a clinician's choice was taken back, {move.method_title} stands again"
        f" as computed. {_by(said.by, at(event.at), said.reason)}"
    )
