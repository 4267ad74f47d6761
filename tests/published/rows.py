"""What do the published tables of moves ask for? One row each, typed from the figures.

OSHA 3182-3R (2003, rev. 2009), figs 1-6, after the VA Patient Care Ergonomics Resource Guide
(2001) and its 2014 revision, as restated in the project's design (restatement seen, primary
not). Rows marked recalled are from memory: chair to stretcher, and the anaesthetised lateral
transfer (AORN ergonomic tool 1).
"""

from service.domain.axis import Axis
from service.domain.condition import Condition
from service.domain.move import Move
from tests.published.bounds import Row, both, exactly, heavy_from, no, seen

FULL = seen(Axis.WEIGHT_BEARING, "full")
PARTIAL = exactly(Axis.WEIGHT_BEARING, "partial", "full")
NO_WEIGHT = no(seen(Axis.WEIGHT_BEARING, "partial"))
COOPERATES = seen(Axis.COOPERATION, "prompted")
STRONG_ARMS = seen(Axis.ARMS, "both")
HEAVY = heavy_from("90.7")
PREFER_AIR = heavy_from("77")
SEATED = (
    Move.BED_TO_CHAIR,
    Move.CHAIR_TO_BED,
    Move.CHAIR_TO_CHAIR,
    Move.CHAIR_TO_TOILET,
    Move.TOILET_TO_CHAIR,
    Move.CHAIR_TO_CAR,
    Move.CAR_TO_CHAIR,
)
LATERAL = (Move.BED_TO_STRETCHER,)
IN_BED = (Move.REPOSITION_IN_BED, Move.TURN_IN_BED)
IN_CHAIR = (Move.REPOSITION_IN_CHAIR,)
TO_STRETCHER = (Move.CHAIR_TO_STRETCHER,)
FROM_FLOOR = (Move.UP_FROM_FLOOR,)
SHEETS = ("slide_sheet", "lateral_board")
ALONE = ("unaided", "walking_aid", "standby")
PIVOT = ("belt_steadied", "stand_aid", "powered_stand_lift")
HIGH = frozenset({Condition.STRETCHER_STAYS_HIGH})
RECLINES_NOT = frozenset({Condition.CHAIR_DOES_NOT_RECLINE})
DEEP = frozenset({Condition.DEEPLY_SEDATED})

ROWS = [
    # OSHA 3182 fig 1: to and from bed, chair, toilet, car
    Row("full weight, cooperative", SEATED, both(FULL, COOPERATES), ALONE, 0),
    Row("full weight, not cooperative", SEATED, both(FULL, no(COOPERATES)), ("sling_lift",), 2),
    Row("partial weight, cooperative", SEATED, both(PARTIAL, COOPERATES), PIVOT, 1),
    Row("partial, not cooperative", SEATED, both(PARTIAL, no(COOPERATES)), ("sling_lift",), 2),
    Row("no weight, not cooperative", SEATED, both(NO_WEIGHT, no(COOPERATES)), ("sling_lift",), 2),
    Row(
        "no weight, cooperative, arms not strong",
        SEATED,
        both(NO_WEIGHT, COOPERATES, no(STRONG_ARMS)),
        ("sling_lift",),
        2,
    ),
    Row(
        "no weight, cooperative, strong arms",
        SEATED,
        both(NO_WEIGHT, COOPERATES, STRONG_ARMS),
        ("transfer_board",),
        1,
    ),
    # fig 2: lateral transfer to and from bed, stretcher, trolley
    Row("cannot do it, under 90.7 kg", LATERAL, both(no(FULL), no(HEAVY)), SHEETS, 2),
    Row("cannot do it, 90.7 kg or over", LATERAL, both(no(FULL), HEAVY), SHEETS, 3),
    Row("does not cooperate: one more", LATERAL, no(COOPERATES), SHEETS, 3),
    Row("heavy, does not cooperate: one more", LATERAL, both(HEAVY, no(COOPERATES)), SHEETS, 4),
    # AORN tool 1, recalled: anaesthetised, limit 71 kg
    Row("anaesthetised, to 71 kg", LATERAL, no(heavy_from("71.1")), SHEETS, 4, DEEP),
    Row(
        "anaesthetised, over 71 kg",
        LATERAL,
        heavy_from("71.1"),
        ("air_transfer_mat", "mechanical_lateral"),
        3,
        DEEP,
    ),
    # fig 3, recalled: chair to stretcher
    Row("not cooperative", TO_STRETCHER, no(COOPERATES), ("sling_lift",), 2),
    Row("full weight", TO_STRETCHER, both(FULL, COOPERATES), ("standby",), 1),
    Row("partial, surface lowers", TO_STRETCHER, both(PARTIAL, COOPERATES), ("stand_aid",), 1),
    Row("partial, stays high", TO_STRETCHER, both(PARTIAL, COOPERATES), ("sling_lift",), 2, HIGH),
    Row("no weight", TO_STRETCHER, NO_WEIGHT, ("sling_lift",), 2),
    # fig 4: up the bed, to the side
    Row("not fully able, under 90.7 kg", IN_BED, both(no(FULL), no(HEAVY)), ("slide_sheet",), 2),
    Row(
        "not fully able, 90.7 kg or over",
        IN_BED,
        both(no(FULL), HEAVY),
        ("slide_sheet", "air_transfer_mat"),
        3,
    ),
    # Wiggermann 2020: from 77 kg sheets exceed hand-force limits
    Row(
        "not fully able, from 77 kg",
        (Move.REPOSITION_IN_BED,),
        both(no(FULL), PREFER_AIR),
        ("air_transfer_mat", "sling_lift"),
        2,
    ),
    # fig 5: back in the chair
    Row("partly able, strong arms", IN_CHAIR, both(no(FULL), STRONG_ARMS), ("knee_push",), 1),
    Row(
        "not able, chair reclines",
        IN_CHAIR,
        both(no(FULL), no(STRONG_ARMS)),
        ("recline_and_slide",),
        2,
    ),
    Row(
        "not able, chair does not recline",
        IN_CHAIR,
        both(no(FULL), no(STRONG_ARMS)),
        ("stand_aid", "sling_lift"),
        1,
        RECLINES_NOT,
    ),
    Row("not cooperative", IN_CHAIR, no(COOPERATES), ("sling_lift",), 2),
    # fig 6: up from the floor
    Row(
        "more than a minor injury",
        FROM_FLOOR,
        (),
        ("do_not_move",),
        0,
        frozenset({Condition.FLOOR_INJURY}),
    ),
    Row(
        "does not get up alone",
        FROM_FLOOR,
        (),
        ("floor_air_lift", "sling_lift"),
        2,
        frozenset({Condition.CANNOT_RISE_FROM_FLOOR}),
    ),
    Row("gets up alone", FROM_FLOOR, (), ("standby",), 1),
]
