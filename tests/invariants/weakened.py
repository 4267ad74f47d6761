"""Which rules, when weakened, must each break a claim?"""

from collections.abc import Callable

from msgspec.structs import replace

from service.domain.axis import Axis, Number
from service.domain.move import Move
from service.domain.requirement import Limit, Need, Requirement
from service.rules.book import Option, RuleBook


def weakened(
    book: RuleBook, move: Move, method: str, drop: Callable[[Requirement], bool]
) -> RuleBook:
    """``book`` without the requirements of ``method`` on ``move`` that ``drop`` picks."""
    rules = book.moves[move]
    changed = 0

    def option(each: Option) -> Option:
        nonlocal changed
        if each.method.id != method:
            return each
        kept = tuple(requirement for requirement in each.requires if not drop(requirement))
        changed += len(each.requires) - len(kept)
        return replace(each, requires=kept)

    moves = dict(book.moves)
    moves[move] = replace(rules, options=tuple(option(each) for each in rules.options))
    assert changed, "nothing was weakened"
    return replace(book, moves=moves)


def on(axis: Axis) -> Callable[[Requirement], bool]:
    return lambda requirement: isinstance(requirement, Need) and requirement.axis == axis


def lifted(requirement: Requirement) -> bool:
    return isinstance(requirement, Limit) and requirement.number == Number.HELPER_LIFT_KG


WEAKENED: list[tuple[Move, str, Callable[[Requirement], bool]]] = [
    # 1. withheld clearance
    *[(move, "sling_lift", on(Axis.CLEARANCE)) for move in (Move.BED_TO_CHAIR, Move.TURN_IN_BED)],
    (Move.WALK, "belt_steadied", on(Axis.CLEARANCE)),
    # 2. standing without weight-bearing
    (Move.BED_TO_CHAIR, "stand_aid", on(Axis.WEIGHT_BEARING)),
    (Move.BED_TO_CHAIR, "powered_stand_lift", on(Axis.WEIGHT_BEARING)),
    (Move.STAND_FOR_CARE, "belt_steadied", on(Axis.WEIGHT_BEARING)),
    # 3. what the stand aid needs
    (Move.BED_TO_CHAIR, "stand_aid", on(Axis.ARMS)),
    (Move.BED_TO_CHAIR, "stand_aid", on(Axis.COOPERATION)),
    (Move.BED_TO_CHAIR, "stand_aid", on(Axis.LEAN)),
    (Move.BED_TO_CHAIR, "stand_aid", on(Axis.RISE)),
    (Move.BED_TO_CHAIR, "stand_aid", lifted),
    # 4. cooperation none
    (Move.BED_TO_CHAIR, "powered_stand_lift", on(Axis.COOPERATION)),
    (Move.REPOSITION_IN_CHAIR, "recline_and_slide", on(Axis.COOPERATION)),
    (Move.UP_FROM_FLOOR, "floor_air_lift", on(Axis.COOPERATION)),
    # 5. the lift limit
    (Move.BED_TO_CHAIR, "belt_steadied", lifted),
    (Move.REPOSITION_IN_CHAIR, "knee_push", lifted),
]
