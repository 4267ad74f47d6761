"""On which ordered axes is a person's capability told, and which numbers go with them?

Grades run from worst to best, so "at least" is a comparison of positions. ``unknown``
stands first on every axis: not known never counts as able.
"""

from enum import StrEnum


class Axis(StrEnum):
    """``clearance``: may be moved at all. ``upright``: may be brought to sitting or standing."""

    CLEARANCE = "clearance"
    UPRIGHT = "upright"
    COOPERATION = "cooperation"
    SITTING = "sitting"
    LEAN = "lean"
    ARMS = "arms"
    KNEE_STRONGER = "knee_stronger"
    KNEE_WEAKER = "knee_weaker"
    WEIGHT_BEARING = "weight_bearing"
    RISE = "rise"
    SHIFT = "shift"
    HEEL = "heel"
    STEP = "step"


UNKNOWN = "unknown"
_CLEARANCE = (UNKNOWN, "withhold", "review", "clear")
_HELPED = (UNKNOWN, "none", "helped", "able")
_MRC = (UNKNOWN, "0", "1", "2", "3", "4", "5")

GRADES: dict[Axis, tuple[str, ...]] = {
    Axis.CLEARANCE: _CLEARANCE,
    Axis.UPRIGHT: _CLEARANCE,
    Axis.COOPERATION: (UNKNOWN, "none", "prompted", "full"),
    Axis.SITTING: (UNKNOWN, "none", "supported", "unsupported"),
    Axis.LEAN: _HELPED,
    Axis.ARMS: (UNKNOWN, "none", "one", "both"),
    Axis.KNEE_STRONGER: _MRC,
    Axis.KNEE_WEAKER: _MRC,
    Axis.WEIGHT_BEARING: (UNKNOWN, "none", "partial", "full"),
    Axis.RISE: (UNKNOWN, "none", "lifted", "steadied", "with_hands", "without_hands"),
    Axis.SHIFT: _HELPED,
    Axis.HEEL: _HELPED,
    Axis.STEP: _HELPED,
}

RANK: dict[Axis, dict[str, int]] = {
    axis: {grade: position for position, grade in enumerate(grades)}
    for axis, grades in GRADES.items()
}


def at_least(axis: Axis, seen: str, required: str) -> bool:
    """Whether grade ``seen`` reaches grade ``required`` on ``axis``."""
    return RANK[axis][seen] >= RANK[axis][required]


class Number(StrEnum):
    """Numbers that rules limit. Held in whole tenths of the unit in the name."""

    MASS_KG = "mass_kg"
    STANDING_TIME_S = "standing_time_s"
    HELPER_LIFT_KG = "helper_lift_kg"
    LEG_MASS_KG = "leg_mass_kg"
