"""What does a plan say once clinicians chose otherwise?"""

from collections.abc import Iterable, Mapping

from msgspec import Struct
from msgspec.structs import replace

from service.domain.citation import Standing
from service.domain.move import Move
from service.domain.plan import Overrule, Plan, PlannedMove, Said
from service.domain.record import Overruled, PlanEvent, SetAside
from service.domain.value import Clinician, ShortWord, Words

_SET_ASIDE = "notice.set_aside"


class Decision(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What a clinician decides for one move of a plan: another method that serves it, or the
    computed one again. ``by``: who answers for it."""

    move: Move
    method: ShortWord
    reason: Words
    by: Clinician


Choices = Mapping[Move, tuple[PlanEvent, Overruled]]


def overruled(plan: Plan, events: Iterable[PlanEvent]) -> Plan:
    """``plan`` as computed, with each choice that stands after ``events`` in the place of what
    was computed, and a notice of each that stood for the plan before."""
    told = tuple(events)
    choices = _standing(told)
    notices = tuple([_notice(one) for event in told for one in event.set_aside])
    if not choices and not notices:
        return plan
    lapsed = {move: said.while_lapsed for move, (_, said) in choices.items() if said.while_lapsed}
    return replace(
        plan,
        moves=tuple([_move(planned, choices) for planned in plan.moves]),
        while_lapsed=tuple([lapsed.get(one.move, one) for one in plan.while_lapsed]),
        notices=(*notices, *plan.notices),
    )


def as_computed(plan: Plan) -> bool:
    """Whether ``plan`` is what the rules gave, with nothing of a clinician in it."""
    said = any(notice.rule == _SET_ASIDE for notice in plan.notices)
    return not said and all(move.overrule is None for move in plan.moves)


def set_aside(events: Iterable[PlanEvent], *, anew: bool = False) -> tuple[SetAside, ...]:
    """The choices that a plan leaves behind when another one replaces it. ``anew``: that one is of
    the same screen, so that what nobody decided since is left behind once more."""
    told = tuple(events)
    chosen = [
        SetAside(said.answer.move_title, said.answer.method_title, said.reason)
        for _, said in _standing(told).values()
    ]
    if not anew:
        return tuple(chosen)
    decided = {one.overruled.answer.move_title for one in told if one.overruled is not None}
    before = [left for one in told for left in one.set_aside if left.move_title not in decided]
    return tuple(dict.fromkeys([*chosen, *before]))


def last_choices(events: Iterable[PlanEvent]) -> Choices:
    """The last choice for each move, be it to go back to what was computed."""
    return {
        event.overruled.answer.move: (event, event.overruled)
        for event in events
        if event.overruled is not None
    }


def _standing(events: Iterable[PlanEvent]) -> Choices:
    """Those by which something else stands than what was computed."""
    return {move: choice for move, choice in last_choices(events).items() if not choice[1].back}


def _move(computed: PlannedMove, choices: Choices) -> PlannedMove:
    if computed.move not in choices:
        return computed
    event, said = choices[computed.move]
    stands = Overrule(
        computed, said.reason, said.by, event.at, event.actor, said.less_supported, said.against,
        said.rule_book,
    )  # fmt: skip
    return replace(said.answer, overrule=stands)


def _notice(one: SetAside) -> Said:
    text = (
        f"{one.move_title}: for the plan that stood before, a clinician had chosen"
        f" {one.method_title} ({one.reason}). That does not carry over: where it still holds,"
        " overrule this plan too."
    )
    return Said(_SET_ASIDE, text, "common_practice", Standing.PRACTICE)
