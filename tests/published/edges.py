"""Which screens stand right at the edge of a parameter, and what is said on each side of it?

The values are typed by hand from the project's clinical design, with its sources; never read
from the rule files. A screen is the able person of the tests with the fields named set.
"""

from collections.abc import Callable
from copy import deepcopy
from datetime import datetime
from typing import Any

from msgspec import Struct, convert, to_builtins

from service.domain.axis import Axis, Number
from service.domain.condition import Condition
from service.domain.move import Move
from service.domain.plan import Plan, PlannedMove
from service.domain.profile import Profile
from service.domain.screen import Screen
from service.rules.book import RuleBook
from service.rules.norms import score_tests
from service.rules.plan import PlanIds, build_plan
from service.rules.profile import profile_of
from tests.invariants.worsening import ABLE

Look = Callable[[Profile, Plan], str]
Fields = dict[str, Any]


class Edge(Struct, frozen=True):
    """``fields`` set in the screen of the able person, and then what ``look`` shows."""

    parameter: str
    fields: Fields
    look: Look
    shows: str


def seen(book: RuleBook, edge: Edge) -> str:
    """What is really shown at the edge."""
    raw = deepcopy(to_builtins(ABLE, builtin_types=(datetime,)))
    for path, value in edge.fields.items():
        *folders, last = path.split("/")
        place = raw
        for folder in folders:
            place[folder] = place[folder] or {}
            place = place[folder]
        place[last] = value
    screen = convert(raw, Screen)
    profile = profile_of(book, screen, score_tests(book, screen))
    return edge.look(profile, build_plan(book, screen, profile, PlanIds("plan", "screen", 1)))


def grade(axis: Axis) -> Look:
    return lambda profile, _: profile.grade(axis)


def number(which: Number) -> Look:
    return lambda profile, _: str(profile.numbers[which].value)


def present(condition: Condition) -> Look:
    return lambda profile, _: "present" if profile.has(condition) else "absent"


def _on(plan: Plan, move: Move) -> PlannedMove:
    return next(each for each in plan.moves if each.move == move)


def method(move: Move) -> Look:
    return lambda _, plan: _on(plan, move).method


def margin(move: Move) -> Look:
    return lambda _, plan: ", ".join(_on(plan, move).margin)


def accessories(move: Move) -> Look:
    return lambda _, plan: ", ".join(each.accessory for each in _on(plan, move).accessories)


def hours(_: Profile, plan: Plan) -> str:
    return f"{(plan.valid_until - plan.valid_from).total_seconds() / 3600:g}"


def seat_percent(_: Profile, plan: Plan) -> str:
    told = plan.exercise
    return f"{told and told.seat_height_percent_low} {told and told.seat_height_percent_high}"


def exercise_says(words: str) -> Look:
    return lambda _, plan: words if plan.exercise and words in plan.exercise.text else ""


def stop_signs_say(words: str) -> Look:
    """A whole sentence of them."""

    def look(_: Profile, plan: Plan) -> str:
        told = [each.text for each in _on(plan, Move.BED_TO_CHAIR).stop_signs]
        return words if words in told else " ".join(told)

    return look


def steps_say(words: str) -> Look:
    def look(_: Profile, plan: Plan) -> str:
        told = [each.text for each in _on(plan, Move.CHAIR_TO_BED).steps]
        return words if any(words in text for text in told) else " ".join(told)

    return look
