"""What does the whole care plan say?"""

from collections.abc import Iterable
from datetime import UTC, timedelta
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from msgspec import Struct

from service.domain.axis import Axis, at_least
from service.domain.condition import Condition
from service.domain.plan import Exercise, Goal, Interim, Plan, PlanState, Said
from service.domain.profile import Profile
from service.domain.screen import Screen
from service.rules.book import GoalRule, MoveRules, RuleBook, SaidRule
from service.rules.evaluate import Judge
from service.rules.finding import limit
from service.rules.means import helper_count
from service.rules.planned_move import planned
from service.rules.select import Choice, select

PERCENT = Decimal(100)


class PlanIds(Struct, frozen=True):
    """The ids a new plan is given; the patient's is known only to the record."""

    plan: str
    screen: str
    screen_version: int


def build_plan(book: RuleBook, screen: Screen, profile: Profile, ids: PlanIds) -> Plan:
    """The plan for ``screen``: one answer for each move wanted, and what holds for them all."""
    context, judge = screen.context, Judge(profile)
    wanted = list(_wanted(book, screen))
    choices = [(move, select(book, move, judge, context)) for move in wanted]
    begins = screen.observed_at.astimezone(UTC)
    ends = begins + _validity(book, screen, choices)
    return Plan(
        id=ids.plan,
        version=1,
        state=PlanState.CURRENT,
        patient_id="",
        screen_id=ids.screen,
        screen_version=ids.screen_version,
        valid_from=begins,
        valid_until=ends,
        rescreen_due=ends,
        rescreen_when=_whole(book.rescreen, judge),
        goals=tuple(_goals(book.goals, judge)),
        exercise=_exercise(book, screen, judge),
        conditions=tuple(_conditions(book, profile)),
        notices=_whole(book.notices, judge),
        moves=tuple(planned(book, move, choice, judge, context) for move, choice in choices),
        while_lapsed=tuple(_interim(move, choice, judge) for move, choice in choices),
        rule_book=book.ref,
    )


def _wanted(book: RuleBook, screen: Screen) -> Iterable[MoveRules]:
    """The moves asked for, or every one that applies."""
    if screen.context.moves is not None:
        return (book.moves[move] for move in screen.context.moves)
    on_the_floor = screen.context.on_the_floor is not None
    return (move for move in book.moves.values() if on_the_floor or not move.only_on_the_floor)


def _validity(book: RuleBook, screen: Screen, choices: list[tuple[MoveRules, Choice]]) -> timedelta:
    assisted = any(choice.option.method.assisted for _, choice in choices)
    kind = "assisted" if assisted else "unassisted"
    return timedelta(hours=int(limit(book, f"{screen.setting}_{kind}_h")))


def _whole(rules: tuple[SaidRule, ...], judge: Judge) -> tuple[Said, ...]:
    """The sentences about the whole plan that are due."""
    return tuple(
        Said(rule.rule, rule.text, rule.citation.source, rule.citation.standing)
        for rule in rules
        if rule.unless is None or not judge.holds(rule.unless)
    )


def may_move(profile: Profile) -> bool:
    """Whether clearance lets the person be moved at all."""
    return at_least(Axis.CLEARANCE, profile.grade(Axis.CLEARANCE), "review")


def _goals(rules: tuple[GoalRule, ...], judge: Judge) -> Iterable[Goal]:
    """The first stage and the first standing time not reached yet; none while movement is
    withheld."""
    if not may_move(judge.profile):
        return
    open_goals = [
        rule
        for rule in rules
        if not judge.holds(rule.unless) and all(judge.holds(each) for each in rule.only_if)
    ]
    for kind in ("stage", "target_seconds"):
        for rule in [each for each in open_goals if getattr(each, kind) is not None][:1]:
            yield Goal(
                rule.id,
                rule.text,
                rule.citation.source,
                rule.citation.standing,
                rule.stage,
                rule.target_seconds,
            )


def _exercise(book: RuleBook, screen: Screen, judge: Judge) -> Exercise | None:
    for rule in book.exercises:
        if not all(judge.holds(each) for each in (rule.when, *rule.only_if)):
            continue
        knee = screen.patient.popliteal_height_cm
        low, high = (
            None
            if percent is None or knee is None
            else int((knee * percent / PERCENT).to_integral_value(rounding))
            for percent, rounding in (
                (rule.seat_percent_low, ROUND_CEILING),
                (rule.seat_percent_high, ROUND_FLOOR),
            )
        )
        return Exercise(
            text=rule.text,
            hands=rule.hands,
            source=rule.citation.source,
            standing=rule.citation.standing,
            seat_height_percent_low=rule.seat_percent_low,
            seat_height_percent_high=rule.seat_percent_high,
            seat_height_cm_low=low,
            seat_height_cm_high=high,
        )
    return None


def _conditions(book: RuleBook, profile: Profile) -> Iterable[Said]:
    """What a clinician is asked to confirm or to settle."""
    for condition in Condition:
        file = book.conditions[condition]
        if profile.has(condition) and file.confirm is not None:
            yield Said(f"condition.{condition}", file.confirm, file.source, file.standing)
    for finding in profile.axes[Axis.CLEARANCE].set_by:
        reviewed = profile.grade(Axis.CLEARANCE) == "review"
        if reviewed and finding.rule in book.parameters:
            text = f"{book.parameters[finding.rule].what} (seen: {finding.seen})."
            yield Said(f"clearance.{finding.rule}", text, finding.source, finding.standing)


def _interim(move: MoveRules, choice: Choice, judge: Judge) -> Interim:
    method = choice.interim.method
    helpers, _ = helper_count(choice.interim, judge)
    return Interim(move.move, method.id, method.title, helpers)
