"""What would one helper hold up by each method, against what one may?"""

from decimal import ROUND_CEILING, Decimal

from service.domain.axis import Axis, Number, at_least
from service.domain.move import Move
from service.domain.reason import HelperLoad
from service.domain.requirement import Limit
from service.rules.book import Method, RuleBook
from service.rules.evaluate import Judge
from service.rules.files import Parameter

BODY, LEG = "body", "leg"
LEG_LIFTER = "leg_lifter"
NOTHING = Decimal(0)


def loads_of(book: RuleBook, method: Method, move: Move, judge: Judge) -> tuple[HelperLoad, ...]:
    """The loads on a helper: of the body where the method rests on what a helper holds up, of a
    leg where the legs may have to be brought into bed."""
    found = []
    if any(isinstance(r, Limit) and r.number == Number.HELPER_LIFT_KG for r in method.requires):
        found.append(_body(book, judge))
    lifts_legs = any(r.accessory == LEG_LIFTER and move in r.moves for r in method.accessories)
    if lifts_legs and not at_least(Axis.STEP, judge.profile.grade(Axis.STEP), "able"):
        kg = judge.profile.numbers[Number.LEG_MASS_KG].value
        held = book.parameters["limb_two_hand_kg"]
        found.append(_load(LEG, kg, held.value, held))
    return tuple(found)


def _body(book: RuleBook, judge: Judge) -> HelperLoad:
    """The limit stands only for a person who cooperates; of another nothing may be held up."""
    held = book.parameters["helper_lift_limit_kg"]
    grade = judge.profile.grade(Axis.COOPERATION)
    limit = held.value if at_least(Axis.COOPERATION, grade, "prompted") else NOTHING
    return _load(BODY, judge.profile.numbers[Number.HELPER_LIFT_KG].value, limit, held)


def _load(what: str, kg: Decimal | None, limit: Decimal, held: Parameter) -> HelperLoad:
    return HelperLoad(
        what=what,
        kg=kg,
        limit_kg=limit,
        within=kg is not None and kg <= limit,
        helpers_by_load=None if kg is None else helpers_for(kg, held.value),
        lowered_by=held.note or "",
        source=held.source,
        standing=held.standing,
    )


def helpers_for(kg: Decimal, limit_kg: Decimal) -> int:
    """How many helpers a load alone would ask for: the load over the limit, rounded up."""
    return int((kg / limit_kg).to_integral_value(ROUND_CEILING))
