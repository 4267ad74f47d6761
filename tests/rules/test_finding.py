"""Is a recorded fact written down with the rule that read it?"""

from decimal import Decimal
from enum import StrEnum

import pytest

from service.domain.axis import Axis
from service.domain.citation import Standing
from service.domain.condition import Condition
from service.domain.profile import Finding
from service.rules.finding import by_axis, by_condition, by_parameter, limit, shown
from service.rules.load import load_book

BOOK = load_book()


class Word(StrEnum):
    PLAIN = "plain"


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (None, "not recorded"),
        (True, "yes"),
        (False, "no"),
        (0, "0"),
        (Decimal("72.50"), "72.50"),
        (Word.PLAIN, "plain"),
    ],
)
def test_a_value_is_shown_as_it_was_recorded(value: object, words: str) -> None:
    assert shown(value) == words


def test_a_finding_cites_the_file_of_its_axis_or_condition() -> None:
    rise, spasms = BOOK.axes[Axis.RISE], BOOK.conditions[Condition.SPASMS]
    assert by_axis(BOOK, Axis.RISE, "/a", value=False) == Finding(
        "/a", "no", "rise", rise.source, rise.standing
    )
    assert by_condition(BOOK, Condition.SPASMS, "/b", "seen") == Finding(
        "/b", "seen", "spasms", spasms.source, spasms.standing
    )


def test_a_finding_held_against_a_parameter_shows_the_limit_with_its_unit() -> None:
    found = by_parameter(BOOK, "spo2_withhold_below", "/c", Decimal(89))
    assert found == Finding(
        "/c", "89", "spo2_withhold_below", "hodgson_2014", Standing.PUBLISHED, "90 %"
    )


def test_a_limit_that_only_counts_shows_no_unit() -> None:
    assert by_parameter(BOOK, "rass_withhold_from", "/d", 3).limit == "3"


def test_a_limit_is_the_value_in_its_own_unit() -> None:
    assert limit(BOOK, "heavy_from_kg") == Decimal("90.7")
