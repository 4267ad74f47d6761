"""What does a clinician's own choice for a move come to, and what do the rules hold against it?"""

from msgspec.structs import replace

from service.domain.move import Move
from service.domain.overruling import Decision
from service.domain.plan import Interim, Plan, PlannedMove
from service.domain.profile import Profile
from service.domain.reason import Reason, Status
from service.domain.record import Overruled
from service.domain.screen import Screen
from service.rules.book import RuleBook
from service.rules.evaluate import Judge
from service.rules.explain import against
from service.rules.planned_move import planned
from service.rules.select import Choice, Weighed, select

_LESS = "Chosen by a clinician: LESS support than the rules ask for."
_NOT_LESS = "Chosen by a clinician."


def methods_for(book: RuleBook, move: Move) -> tuple[str, ...]:
    """The methods that serve ``move``, least supported first."""
    return tuple([option.method.id for option in book.moves[move].options])


def overrule(
    book: RuleBook, screen: Screen, profile: Profile, plan: Plan, decision: Decision
) -> Overruled:
    """The decision for a move of ``plan``, which is as computed.

    Its method is one of ``methods_for`` the move, or the computed one: that takes the choice of
    before back. ``book`` need not be the one that made the plan.
    """
    computed = next(one for one in plan.moves if one.move == decision.move)
    reason, by, method = decision.reason, decision.by, decision.method
    if method == computed.method:
        return Overruled(computed, reason, by, book.ref, back=True)
    rules, judge = book.moves[computed.move], Judge(profile)
    weighed = select(book, rules, judge, screen.context).weighed
    place = methods_for(book, computed.move).index(method)
    chosen, choice = weighed[place], Choice(weighed, place, place)
    less = chosen.option.method.support < _support(book, computed.method)
    answer = planned(book, rules, choice, judge, screen.context)
    words = against(book, chosen, judge)
    return Overruled(
        replace(
            answer,
            plain=f"{answer.plain} {_LESS if less else _NOT_LESS}",
            because=_because(answer, choice),
            ruled_out=tuple([one for one in answer.ruled_out if one.method != method]),
            would_open=None,
            ask_next=None,
            why=_why(computed, reason, words),
        ),
        reason,
        by,
        book.ref,
        less_supported=less,
        against=next((one.reasons for one in answer.ruled_out if one.method == method), ()),
        while_lapsed=_interim(book, plan, answer, chosen),
    )


def _support(book: RuleBook, method: str) -> int:
    """How much a method supports; one that this book does not know is taken to support fully."""
    known = book.methods.get(method)
    return max(each.support for each in book.methods.values()) if known is None else known.support


def _because(answer: PlannedMove, choice: Choice) -> tuple[Reason, ...]:
    """What speaks for the choice: what is met, or why nobody is moved."""
    if choice.moves_nobody:
        return answer.because
    return tuple([one for one in answer.because if one.status == Status.MET])


def _why(computed: PlannedMove, reason: str, words: str) -> tuple[str, ...]:
    said = f"Chosen by a clinician. Computed was: {computed.method_title}. Reason: {reason}"
    return (said, f"The rules hold against it: {words}") if words else (said,)


def _interim(book: RuleBook, plan: Plan, answer: PlannedMove, chosen: Weighed) -> Interim | None:
    """A choice that supports more than what was to be done once the plan has lapsed is done then
    as well."""
    support = chosen.option.method.support
    for interim in plan.while_lapsed:
        if interim.move == answer.move and support > _support(book, interim.method):
            return Interim(answer.move, answer.method, answer.method_title, answer.helpers)
    return None
