"""What can the person of this screen do, and what binds them?"""

from service.domain.axis import Axis
from service.domain.profile import AxisGrade, Profile
from service.domain.score import TestScore
from service.domain.screen import Screen
from service.rules import axes
from service.rules.body import numbers_of
from service.rules.book import RuleBook
from service.rules.clearance import clearance
from service.rules.conditions import conditions_of
from service.rules.limbs import arms


def profile_of(book: RuleBook, screen: Screen, tests: tuple[TestScore, ...]) -> Profile:
    """The profile of ``screen``: total, every axis with exactly one grade, and deterministic."""
    conditions = conditions_of(book, screen, tests)
    whole, upright = clearance(book, screen, conditions)
    stronger, weaker = axes.knees(book, screen)
    stages = screen.stages
    grades: dict[Axis, AxisGrade] = {
        Axis.CLEARANCE: whole,
        Axis.UPRIGHT: upright,
        Axis.COOPERATION: axes.cooperation(book, screen),
        Axis.SITTING: axes.sitting(book, screen),
        Axis.LEAN: axes.lean(book, screen),
        Axis.ARMS: arms(book, screen),
        Axis.KNEE_STRONGER: stronger,
        Axis.KNEE_WEAKER: weaker,
        Axis.WEIGHT_BEARING: axes.weight_bearing(book, screen),
        Axis.RISE: axes.rise(book, screen),
        Axis.SHIFT: axes.sided(book, Axis.SHIFT, "weight_shift", stages.weight_shift),
        Axis.HEEL: axes.sided(book, Axis.HEEL, "heel_raise", stages.heel_raise),
        Axis.STEP: axes.sided(book, Axis.STEP, "foot_lift", stages.foot_lift),
    }
    return Profile(grades, numbers_of(book, screen), conditions)
