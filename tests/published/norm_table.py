"""What do the published norms say at each of their edges?

Typed from the sources, apart from the rule files. "seen" = seen in the source or a restatement
of it; "recalled" = from memory.
"""

from collections.abc import Iterator
from typing import Any, cast

from msgspec import Struct

from service.domain.subject import Sex
from service.rules.book import RuleBook
from service.rules.norm_files import NormFile
from service.rules.norms import score_tests
from tests.rules.measured import screen

M, F = Sex.MALE, Sex.FEMALE


class Edge(Struct, frozen=True, kw_only=True):
    """``raw`` results of ``test`` by a person, and what ``of`` shows: a rule's outcome
    (``none``: no outcome for this person), a part's points, or ``score``."""

    test: str
    raw: dict[str, Any]
    of: str
    shows: str
    age: int = 75
    sex: Sex = F

    @property
    def id(self) -> str:
        raw = ",".join(f"{name}={value}" for name, value in self.raw.items())
        return f"{self.test}-{raw}-{self.age}-{self.sex}-{self.of}"


class _Norms(Struct, frozen=True):
    """The one part of a rule book that scoring reads."""

    norms: dict[str, NormFile]


def shown(norms: dict[str, NormFile], edge: Edge) -> str:
    """What the norm files really say at the edge."""
    book = cast(RuleBook, _Norms(norms))
    (score,) = score_tests(book, screen({edge.test: edge.raw}, edge.age, edge.sex))
    if edge.of == "score":
        return str(score.score)
    if edge.of in score.parts:
        return str(score.parts[edge.of])
    judged = {each.rule: each.outcome or "none" for each in score.judgements}
    return judged.get(f"{edge.test}.{edge.of}", "no such rule")


# CDC 30-second chair stand, below average if fewer than (men, women). Seen: two restatements.
CHAIR_STAND = {
    (60, 64): (14, 12),
    (65, 69): (12, 11),
    (70, 74): (12, 10),
    (75, 79): (11, 10),
    (80, 84): (10, 9),
    (85, 89): (8, 8),
    (90, 94): (7, 4),
}


def _stands(
    of: str, age: int, sex: Sex, count: int, shows: str, *, arms_used: bool = False
) -> Edge:
    raw = {"count": count, "arms_used": arms_used}
    return Edge(test="chair_stand_30s", raw=raw, of=of, shows=shows, age=age, sex=sex)


def _chair_stand() -> Iterator[Edge]:
    for ages, cuts in CHAIR_STAND.items():
        for age in (ages[0], ages[0] + 2, ages[1]):
            for sex, least in zip((M, F), cuts, strict=True):
                yield _stands("cdc", age, sex, least - 1, "below_average")
                yield _stands("cdc", age, sex, least, "average_or_better")
                # Seen: with the arms used the score is zero, which is below every row.
                yield _stands("cdc", age, sex, least, "below_average", arms_used=True)
    for age in (18, 59, 95, 130):
        for sex in (M, F):
            yield _stands("cdc", age, sex, 9, "none")
    yield _stands("score", 75, F, 9, "9")
    yield _stands("score", 75, F, 9, "0", arms_used=True)


# Single cut points: (test, rule, raw field, value, outcome).
_CUTS = (
    # CDC 2017, 12 s or longer. Seen: restatement.
    ("timed_up_and_go", "cdc", "seconds", "11.99", "not_at_risk"),
    ("timed_up_and_go", "cdc", "seconds", "12", "at_risk"),
    # EWGSOP2 2019, 20 s or longer. Seen: restatement.
    ("timed_up_and_go", "ewgsop2", "seconds", "19.99", "not_low"),
    ("timed_up_and_go", "ewgsop2", "seconds", "20", "low"),
    # EWGSOP2 2019, more than 15 s. Seen: restatement.
    ("five_times_sit_to_stand", "ewgsop2", "seconds", "15", "not_low"),
    ("five_times_sit_to_stand", "ewgsop2", "seconds", "15.01", "low"),
    # Duncan 1992: less than 10 in; 6 in or less. Seen: abstract of the paper.
    ("functional_reach", "duncan", "reach_cm", "25.39", "at_risk"),
    ("functional_reach", "duncan", "reach_cm", "25.4", "not_at_risk"),
    ("functional_reach", "duncan_short", "reach_cm", "15.2", "at_high_risk"),
    ("functional_reach", "duncan_short", "reach_cm", "15.24", "at_high_risk"),
    ("functional_reach", "duncan_short", "reach_cm", "15.25", "not_at_high_risk"),
    # CDC: tandem stance under 10 s. Seen: restatements of the form.
    ("four_stage_balance", "cdc", "tandem_s", "9.99", "at_risk"),
    ("four_stage_balance", "cdc", "tandem_s", "10", "not_at_risk"),
)
# Seconds over a distance, so that the speed is exact or just off it.
_GAIT = (
    # Perry 1995: < 0.4, 0.4-0.8, > 0.8 m/s. Seen: restatements.
    ("perry", "4", "10.01", "household"),
    ("perry", "4", "10", "limited_community"),
    ("perry", "4", "5", "limited_community"),
    ("perry", "4", "4.99", "community"),
    # EWGSOP2 2019: 0.8 m/s or slower. Seen: restatement.
    ("ewgsop2", "4", "5", "low"),
    ("ewgsop2", "4", "4.9999999999999999999999999999999", "not_low"),
    # Cesari 2005: slower than 1.0 m/s. Seen: abstract of the paper.
    ("cesari", "4", "4.0000000000000000000000000000001", "at_risk"),
    ("cesari", "4", "4", "not_at_risk"),
    # Cummings 2014: 0.6 m/s or slower. Recalled.
    ("cummings", "6", "10", "low"),
    ("cummings", "6", "9.99", "not_low"),
)
# EWGSOP2 2019: under 27 kg men, under 16 kg women. Seen: restatement.
_GRIP = ((M, "26.99", "low"), (M, "27", "not_low"), (F, "15.99", "low"), (F, "16", "not_low"))


def _single() -> Iterator[Edge]:
    for test, rule, field, value, outcome in _CUTS:
        yield Edge(test=test, raw={field: value}, of=rule, shows=outcome)
    for rule, metres, seconds, outcome in _GAIT:
        raw = {"distance_m": metres, "seconds": seconds}
        yield Edge(test="gait_speed", raw=raw, of=rule, shows=outcome)
    for sex, kg, outcome in _GRIP:
        raw = {"left_kg": "3.5", "right_kg": kg}
        yield Edge(test="hand_grip", raw=raw, of="ewgsop2", shows=outcome, sex=sex)
    # De Jonghe 2002: under 48 of 60. Seen: restatements.
    for ankle, total, outcome in ((3, "47", "low"), (4, "48", "not_low")):
        groups = _mrc(ankle)
        yield Edge(test="mrc_sum", raw=groups, of="score", shows=total)
        yield Edge(test="mrc_sum", raw=groups, of="weakness", shows=outcome)


def _mrc(ankle: int) -> dict[str, dict[str, int]]:
    groups = ("shoulder_abduction", "elbow_flexion", "wrist_extension", "hip_flexion")
    side = dict.fromkeys((*groups, "knee_extension", "ankle_dorsiflexion"), 4)
    return {"left": side | {"ankle_dorsiflexion": ankle}, "right": side}


def _stances() -> Iterator[Edge]:
    """CDC: each of the four stances is to be held for 10 s. Seen: restatements of the form."""
    for stance in ("side_by_side_s", "semi_tandem_s", "tandem_s", "one_leg_s"):
        for seconds, held in (("9.99", "0"), ("10", "1"), ("10.01", "1")):
            yield Edge(test="four_stage_balance", raw={stance: seconds}, of="score", shows=held)
    # A stance that was not managed is as one that was not held.
    for easier in ("side_by_side_s", "semi_tandem_s"):
        yield Edge(test="four_stage_balance", raw={easier: "9"}, of="cdc", shows="at_risk")


# Guralnik 1994, J Gerontol 49:M85. Seen in restatements: balance, chair stands, 4 m gait.
_CHAIR_STANDS = (
    ("11.19", "4"), ("11.20", "3"), ("13.69", "3"), ("13.70", "2"), ("16.69", "2"),
    ("16.70", "1"), ("60", "1"),
    ("60.01", "0"),  # stated as published; not seen in the restatements found
    (None, "0"),
)  # fmt: skip
_WALKED = (
    ("4.81", "4"), ("4.82", "3"), ("6.20", "3"), ("6.21", "2"), ("8.70", "2"), ("8.71", "1"),
    ("3600", "1"), (None, "0"),
)  # fmt: skip
_BALANCE = (
    ("10", "10", "10", "4"), ("10", "10", "9.99", "3"), ("10", "10", "3", "3"),
    ("10", "10", "2.99", "2"), ("10", "10", None, "2"), ("10", "9.99", None, "1"),
    ("10", None, None, "1"), ("9.99", None, None, "0"), (None, None, None, "0"),
    # The test ends at a stance that fails: nothing harder counts after it.
    ("10", "9.99", "10", "1"), ("9.99", "10", "10", "0"),
)  # fmt: skip
# Guralnik 1995, N Engl J Med 332:556, seen restated: the bands.
# (balance changes, chair stands, gait, total, band)
_BANDS: tuple[tuple[dict[str, str], str | None, str | None, str, str], ...] = (
    ({"side_by_side_s": "0"}, None, None, "0", "severe_limitation"),
    ({"side_by_side_s": "0"}, "15", "9", "3", "severe_limitation"),
    ({"side_by_side_s": "0"}, "15", "8", "4", "moderate_limitation"),
    ({"tandem_s": "0"}, "15", "8", "6", "moderate_limitation"),
    ({"tandem_s": "5"}, "15", "8", "7", "mild_limitation"),
    ({}, "12", "8", "9", "mild_limitation"),
    ({}, "12", "6", "10", "minimal_limitation"),
    ({}, "9", "4", "12", "minimal_limitation"),
)
_BEST: dict[str, str | None] = {
    "side_by_side_s": "10",
    "semi_tandem_s": "10",
    "tandem_s": "10",
    "chair_stands_s": "9",
    "gait_4m_s": "4",
}


def _battery(of: str, shows: str, **changed: str | None) -> Edge:
    return Edge(test="sppb", raw=_BEST | changed, of=of, shows=shows)


def _sppb() -> Iterator[Edge]:
    for seconds, points in _CHAIR_STANDS:
        yield _battery("chair_stands", points, chair_stands_s=seconds)
    for seconds, points in _WALKED:
        yield _battery("gait", points, gait_4m_s=seconds)
    for side, semi, tandem, points in _BALANCE:
        yield _battery("balance", points, side_by_side_s=side, semi_tandem_s=semi, tandem_s=tandem)
    for balance, stands, gait, total, band in _BANDS:
        parts = balance | {"chair_stands_s": stands, "gait_4m_s": gait}
        yield _battery("score", total, **parts)
        yield _battery("band", band, **parts)


EDGES = (*_chair_stand(), *_single(), *_stances(), *_sppb())

# (test, kind) -> value, unit, standing. Sources as in the norm files.
CHANGES = {
    ("gait_speed", "small"): ("0.05", "m/s", "published"),  # Perera 2006, seen restated
    ("gait_speed", "substantial"): ("0.10", "m/s", "published"),  # Perera 2006, seen restated
    ("chair_stand_30s", "minimal_detectable"): ("2.5", "{stands}", "published"),  # Gill, seen
    ("five_times_sit_to_stand", "minimal_detectable"): ("3.6", "s", "published"),  # seen
    ("five_times_sit_to_stand", "minimal_important"): ("2.3", "s", "published"),  # seen
    ("timed_up_and_go", "minimal_detectable"): ("3.5", "s", "recalled"),
}


def changes(norms: dict[str, NormFile]) -> dict[tuple[str, str], tuple[str, str, str]]:
    """The changes that count, as the norm files have them."""
    return {
        (test, each.kind): (str(each.value), each.unit, each.standing.value)
        for test, norm in norms.items()
        for each in norm.change
    }


def wrong_norms(norms: dict[str, NormFile]) -> list[str]:
    """Each edge that shows something else than it says, and changes that are not the published."""
    wrong = [
        f"{edge.id}: {shown(norms, edge)} instead of {edge.shows}"
        for edge in EDGES
        if shown(norms, edge) != edge.shows
    ]
    return wrong if changes(norms) == CHANGES else [*wrong, f"changes: {changes(norms)}"]
