"""How is the choice for a move written as a plan that can be followed?"""

from collections.abc import Iterable

from service.domain.condition import Condition
from service.domain.context import Context
from service.domain.move import Move
from service.domain.plan import Accessory, Device, PlannedMove, Said, Step
from service.domain.profile import Profile
from service.domain.requirement import Requirement
from service.rules.book import AccessoryRule, Method, MoveRules, RuleBook, SaidRule
from service.rules.evaluate import Judge
from service.rules.explain import ask_next, plainly, would_open
from service.rules.helper_load import loads_of
from service.rules.means import device_at_hand, expanded, helper_count
from service.rules.select import Choice, because, margin, ruled_out


def planned(
    book: RuleBook, move: MoveRules, choice: Choice, judge: Judge, context: Context
) -> PlannedMove:
    """The plan for one move: what, with whom, with what, in which steps, and why."""
    method = choice.option.method
    helpers, helper_reasons = helper_count(choice.option, judge)
    waits = tuple(f"{each.why}: needs {each.required}." for each in choice.lacking)
    moved = helpers is not None
    opens = would_open(choice, judge)
    warned = tuple(_warned(book, judge.profile)) if moved else ()
    return PlannedMove(
        move=move.move,
        move_title=move.title,
        method=method.id,
        method_title=method.title,
        plain=_plain(move, method.plain, helpers, waits),
        helpers=helpers,
        helper_reasons=helper_reasons,
        training=method.training,
        device=_device(book, choice, judge.profile, context),
        accessories=_accessories(book, method.accessories, move.move, judge),
        steps=_steps(method, move.move, judge),
        cautions=(
            *said(method.cautions, move.move, judge),
            *(said(move.cautions, move.move, judge) if moved else ()),
            *warned,
        ),
        stop_signs=said(method.stop_signs, move.move, judge),
        because=because(choice, judge),
        ruled_out=ruled_out(book, choice, move.move, judge),
        would_open=opens,
        margin=margin(book, choice, judge),
        why=tuple(plainly(book, choice, judge, opens)),
        ask_next=ask_next(book, choice, judge),
        wait_for=waits,
        loads=loads_of(book, method, move.move, judge),
    )


def _steps(method: Method, move: Move, judge: Judge) -> tuple[Step, ...]:
    return tuple(
        Step(rule.text, rule.brakes)
        for rule in method.steps
        if due(rule.unless, rule.moves, move, judge)
    )


def due(unless: Requirement | None, moves: frozenset[Move], move: Move, judge: Judge) -> bool:
    """Whether a step, an accessory or a sentence belongs to this move and this person."""
    if moves and move not in moves:
        return False
    return unless is None or not judge.holds(unless)


def said(rules: Iterable[SaidRule], move: Move, judge: Judge) -> tuple[Said, ...]:
    """The sentences that are due."""
    return tuple(
        Said(rule.rule, rule.text, rule.citation.source, rule.citation.standing)
        for rule in rules
        if due(rule.unless, rule.moves, move, judge)
    )


def _plain(move: MoveRules, plain: str, helpers: int | None, waits: tuple[str, ...]) -> str:
    if waits:
        return f"{move.title}: wait. {' '.join(waits)}"
    if helpers is None:
        return f"{move.title}: {plain}"
    return f"{move.title}: {plain} Helpers: {helpers}."


def _warned(book: RuleBook, profile: Profile) -> Iterable[Said]:
    for condition in Condition:
        file = book.conditions[condition]
        if profile.has(condition) and file.caution is not None:
            yield Said(f"condition.{condition}", file.caution, file.source, file.standing)


def _device(book: RuleBook, choice: Choice, profile: Profile, context: Context) -> Device | None:
    wanted = choice.option.method.device_class
    if wanted is None:
        return None
    at_hand = device_at_hand(book, context, wanted, profile)
    carries = book.device_classes[wanted].carries_person
    return Device(
        device_class=wanted,
        title=book.device_classes[wanted].title,
        expanded_capacity=carries and expanded(profile),
        label=None if at_hand is None else at_hand.label,
    )


def _accessories(
    book: RuleBook, rules: tuple[AccessoryRule, ...], move: Move, judge: Judge
) -> tuple[Accessory, ...]:
    """Each accessory once, with every reason for it; the first rule that asks is named."""
    asked: dict[str, list[AccessoryRule]] = {}
    for rule in rules:
        if due(rule.unless, rule.moves, move, judge):
            asked.setdefault(rule.accessory, []).append(rule)
    return tuple(
        Accessory(
            accessory,
            book.accessories[accessory].title,
            "; ".join(rule.why for rule in due_to),
            due_to[0].rule,
            due_to[0].citation.source,
            due_to[0].citation.standing,
        )
        for accessory, due_to in asked.items()
    )
