"""Which accessories does a method take for whom? Typed by hand from the project's clinical design.

Straps and foot plate: common practice, no source. One leg on one helper's two hands up to 10.1 kg:
Waters et al. 2011, AORN J 93:589, seen restated. Made for the very heavy: VA guide 2001, recalled.
"""

from decimal import Decimal

from msgspec import Struct

from service.domain.axis import Axis, Number
from service.domain.condition import Condition
from service.domain.move import Move
from service.domain.profile import Profile
from service.rules.book import RuleBook
from service.rules.evaluate import Judge
from service.rules.planned_move import due
from tests.rules.profiles import BEST, TOLD, profile

STAND, WALK, TO_BED = Move.BED_TO_CHAIR, Move.WALK, Move.CHAIR_TO_BED
FLAT, FLOOR, UP_BED = Move.BED_TO_STRETCHER, Move.UP_FROM_FLOOR, Move.REPOSITION_IN_BED
IN_CHAIR = Move.REPOSITION_IN_CHAIR
HEAVY = Condition.VERY_HEAVY
WIDE = "expanded_capacity_equipment"
STRAP = "back_support_strap"
BOTH_HANDS_KG = "10.1"


class Row(Struct, frozen=True, kw_only=True):
    """The able person but for what is said here, on ``move`` by ``method``."""

    method: str
    move: Move
    takes: tuple[str, ...]
    grades: dict[Axis, str] = {}
    numbers: dict[Number, str] = {}
    conditions: tuple[Condition, ...] = ()

    def person(self) -> Profile:
        numbers = TOLD | {name: Decimal(value) for name, value in self.numbers.items()}
        return profile(BEST | self.grades, numbers, *self.conditions)


def _leg(method: str) -> tuple[Row, ...]:
    """Into bed: who brings the legs up is not lifted; one helper lifts one leg up to a weight."""
    weak = {Axis.STEP: "helped"}
    heavier = {Number.LEG_MASS_KG: str(Decimal(BOTH_HANDS_KG) + Decimal("0.1"))}
    at_limit = {Number.LEG_MASS_KG: BOTH_HANDS_KG}
    straps = ("friction_reducing_cover",) if method == "transfer_board" else ()
    lifter = (*straps, "leg_lifter")
    return (
        Row(method=method, move=TO_BED, grades=weak, numbers=heavier, takes=lifter),
        Row(method=method, move=TO_BED, grades=weak, numbers=at_limit, takes=straps),
        Row(method=method, move=TO_BED, numbers=heavier, takes=straps),
    )


ROWS: tuple[Row, ...] = (
    Row(method="stand_aid", move=STAND, takes=()),
    Row(method="stand_aid", move=STAND, grades={Axis.SITTING: "supported"}, takes=(STRAP,)),
    Row(method="stand_aid", move=STAND, conditions=(Condition.LEANING_BACK,), takes=(STRAP,)),
    Row(method="stand_aid", move=STAND, grades={Axis.KNEE_WEAKER: "3"}, takes=(STRAP,)),
    Row(method="stand_aid", move=STAND, grades={Axis.KNEE_WEAKER: "4"}, takes=()),
    Row(method="stand_aid", move=STAND, numbers={Number.STANDING_TIME_S: "29.9"}, takes=(STRAP,)),
    Row(method="stand_aid", move=STAND, numbers={Number.STANDING_TIME_S: "30"}, takes=()),
    Row(method="stand_aid", move=STAND, conditions=(Condition.SPASMS,), takes=("calf_strap",)),
    Row(method="stand_aid", move=WALK, takes=("footplate_off",)),
    Row(method="stand_aid", move=STAND, conditions=(HEAVY,), takes=(WIDE,)),
    Row(
        method="powered_stand_lift",
        move=STAND,
        conditions=(Condition.SPASMS,),
        takes=("calf_strap",),
    ),
    Row(method="powered_stand_lift", move=STAND, conditions=(HEAVY,), takes=(WIDE,)),
    Row(method="belt_steadied", move=STAND, conditions=(HEAVY,), takes=(WIDE,)),
    Row(method="sling_lift", move=STAND, conditions=(HEAVY,), takes=(WIDE,)),
    Row(method="floor_air_lift", move=FLOOR, conditions=(HEAVY,), takes=(WIDE,)),
    Row(method="recline_and_slide", move=IN_CHAIR, conditions=(HEAVY,), takes=(WIDE,)),
    Row(method="slide_sheet", move=UP_BED, conditions=(HEAVY,), takes=(WIDE,)),
    Row(method="air_transfer_mat", move=FLAT, conditions=(HEAVY,), takes=(WIDE,)),
    Row(method="mechanical_lateral", move=FLAT, conditions=(HEAVY,), takes=(WIDE,)),
    Row(method="lateral_board", move=FLAT, takes=("friction_reducing_cover",)),
    Row(
        method="lateral_board",
        move=FLAT,
        conditions=(HEAVY,),
        takes=("friction_reducing_cover", WIDE),
    ),
    Row(
        method="transfer_board",
        move=STAND,
        conditions=(HEAVY,),
        takes=("friction_reducing_cover", WIDE),
    ),
    *_leg("stand_aid"),
    *_leg("powered_stand_lift"),
    *_leg("belt_steadied"),
    *_leg("transfer_board"),
)


def taken(book: RuleBook, row: Row) -> tuple[str, ...]:
    judge = Judge(row.person())
    rules = book.methods[row.method].accessories
    return tuple(each.accessory for each in rules if due(each.unless, each.moves, row.move, judge))


def wrong_accessories(book: RuleBook) -> list[str]:
    """Each row that takes other accessories than it says."""
    return [
        f"{row.method} on {row.move} takes {taken(book, row)} instead of {row.takes}"
        for row in ROWS
        if sorted(taken(book, row)) != sorted(row.takes)
    ]
