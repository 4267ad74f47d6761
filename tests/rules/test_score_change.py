"""Is a score held against the last comparable one, and called what the source allows?"""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from service.domain.score import EarlierScore, ScoreChange, TestScore
from service.rules.load import load_book
from service.rules.score_change import with_changes

TODAY = datetime(2026, 3, 4, 8, tzinfo=UTC)


def score(test: str, value: str | None, **parts: str) -> TestScore:
    unit = load_book().norms[test].unit
    known = {name: Decimal(number) for name, number in parts.items()}
    return TestScore(test, test, None if value is None else Decimal(value), unit, (), known)


def change(now: TestScore, *then: TestScore) -> ScoreChange | None:
    earlier = [EarlierScore(TODAY - timedelta(days=i + 1), each) for i, each in enumerate(then)]
    return with_changes(load_book(), (now,), earlier)[0].change


@pytest.mark.parametrize(
    ("test", "before", "now", "claims"),
    [
        # Gill 2022: 30-second chair stand, minimal detectable change 2.5 stands
        ("chair_stand_30s", "8", "10", [None]),
        ("chair_stand_30s", "8", "11", ["real"]),
        # five-times sit-to-stand: detectable from 3.6 s; 2.3 s is below it, so only possible
        ("five_times_sit_to_stand", "20.0", "17.7", ["possible", None]),
        ("five_times_sit_to_stand", "20.0", "16.4", ["possible", "real"]),
        # timed up and go: 3.5 s
        ("timed_up_and_go", "18.0", "14.6", [None]),
        ("timed_up_and_go", "18.0", "14.5", ["real"]),
        # Perera 2006: gait speed, 0.05 m/s small and 0.10 m/s substantial
        ("gait_speed", "0.600", "0.649", [None, None]),
        ("gait_speed", "0.600", "0.650", ["real", None]),
        ("gait_speed", "0.600", "0.500", ["real", "real"]),
    ],
)
def test_a_change_is_called_what_its_size_allows(
    test: str, before: str, now: str, claims: list[str | None]
) -> None:
    found = change(score(test, now), score(test, before))
    assert found is not None
    assert found.difference == Decimal(now) - Decimal(before)
    assert sorted((each.claim for each in found.claims), key=str) == sorted(claims, key=str)
    assert all(each.source in load_book().sources for each in found.claims)


def test_the_latest_comparable_score_is_taken() -> None:
    found = change(
        score("timed_up_and_go", "12.0"),
        score("chair_stand_30s", "9"),
        score("timed_up_and_go", "13.0"),
        score("timed_up_and_go", "20.0"),
    )
    assert found is not None
    assert (found.earlier_score, found.since) == (Decimal("13.0"), TODAY - timedelta(days=2))


def test_a_walk_is_comparable_only_over_the_same_distance() -> None:
    now = score("gait_speed", "0.9", distance_m="4")
    assert change(now, score("gait_speed", "0.7", distance_m="10")) is None
    found = change(
        now,
        score("gait_speed", "0.7", distance_m="10"),
        score("gait_speed", "0.8", distance_m="4.0"),
    )
    assert found is not None
    assert found.earlier_score == Decimal("0.8")


def test_nothing_is_said_without_a_score_on_both_sides() -> None:
    assert change(score("timed_up_and_go", "12.0")) is None
    assert (
        change(score("five_times_sit_to_stand", None), score("five_times_sit_to_stand", "15"))
        is None
    )
    assert (
        change(score("five_times_sit_to_stand", "15"), score("five_times_sit_to_stand", None))
        is None
    )
