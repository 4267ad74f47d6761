"""Does the Short Physical Performance Battery give the points of its source at every edge?

Guralnik 1994, J Gerontol 49:M85. Seen in restatements: balance, chair stands, 4 m gait.
Guralnik 1995, N Engl J Med 332:556, seen restated: the bands.
"""

from decimal import Decimal

import pytest

from tests.rules.measured import outcome, score

FULL = {
    "side_by_side_s": "10",
    "semi_tandem_s": "10",
    "tandem_s": "10",
    "chair_stands_s": "9",
    "gait_4m_s": "4",
}


def _parts(**changed: str | None) -> dict[str, Decimal]:
    return score("sppb", FULL | changed).parts


@pytest.mark.parametrize(
    ("seconds", "points"),
    [
        ("11.19", 4),
        ("11.20", 3),
        ("13.69", 3),
        ("13.70", 2),
        ("16.69", 2),
        ("16.70", 1),
        ("60", 1),
        ("60.01", 0),  # stated as published; not seen in the restatements found
        (None, 0),
    ],
)
def test_chair_stands_earn_the_published_points(seconds: str | None, points: int) -> None:
    assert _parts(chair_stands_s=seconds)["chair_stands"] == points


@pytest.mark.parametrize(
    ("seconds", "points"),
    [
        ("4.81", 4),
        ("4.82", 3),
        ("6.20", 3),
        ("6.21", 2),
        ("8.70", 2),
        ("8.71", 1),
        ("3600", 1),
        (None, 0),
    ],
)
def test_4_m_gait_earns_the_published_points(seconds: str | None, points: int) -> None:
    assert _parts(gait_4m_s=seconds)["gait"] == points


@pytest.mark.parametrize(
    ("side", "semi", "tandem", "points"),
    [
        ("10", "10", "10", 4),
        ("10", "10", "9.99", 3),
        ("10", "10", "3", 3),
        ("10", "10", "2.99", 2),
        ("10", "10", None, 2),
        ("10", "9.99", None, 1),
        ("10", None, None, 1),
        ("9.99", None, None, 0),
        (None, None, None, 0),
        # The test ends at a stance that fails: nothing harder counts after it.
        ("10", "9.99", "10", 1),
        ("9.99", "10", "10", 0),
    ],
)
def test_balance_earns_the_published_points(
    side: str | None, semi: str | None, tandem: str | None, points: int
) -> None:
    parts = _parts(side_by_side_s=side, semi_tandem_s=semi, tandem_s=tandem)
    assert parts["balance"] == points


# (balance changes, chair stands, gait, total, band)
BANDS = [
    ({"side_by_side_s": "0"}, None, None, 0, "severe_limitation"),
    ({"side_by_side_s": "0"}, "15", "9", 3, "severe_limitation"),
    ({"side_by_side_s": "0"}, "15", "8", 4, "moderate_limitation"),
    ({"tandem_s": "0"}, "15", "8", 6, "moderate_limitation"),
    ({"tandem_s": "5"}, "15", "8", 7, "mild_limitation"),
    ({}, "12", "8", 9, "mild_limitation"),
    ({}, "12", "6", 10, "minimal_limitation"),
    ({}, "9", "4", 12, "minimal_limitation"),
]


@pytest.mark.parametrize(("balance", "stands", "gait", "total", "band"), BANDS)
def test_the_total_falls_in_the_published_band(
    balance: dict[str, str], stands: str | None, gait: str | None, total: int, band: str
) -> None:
    raw = FULL | balance | {"chair_stands_s": stands, "gait_4m_s": gait}
    assert score("sppb", raw).score == total
    assert outcome("sppb.band", raw) == band
