"""Is any text made fit for FHIR without losing what it says?"""

import re
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.fhir.text import (
    clock_time,
    fhir_id,
    sentence,
    tidy,
    tidy_uri,
    uncapital,
    words,
    zoned,
)

NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)


@given(st.text())
def test_any_text_becomes_a_string_that_fhir_and_xml_can_hold(text: str) -> None:
    made = tidy(text)
    assert made.strip()
    assert not re.search("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]", made)


@given(st.text())
def test_any_text_becomes_a_uri_without_white_space(text: str) -> None:
    assert re.fullmatch(r"\S+", tidy_uri(text))


@pytest.mark.parametrize("text", ["plain", "a\nb", '\N{FACE WITH TEARS OF JOY} <b> & "c"'])
def test_fit_text_stays_as_it_is(text: str) -> None:
    assert tidy(text) == text


def test_two_values_that_differ_in_a_control_character_do_not_become_one() -> None:
    assert tidy("A\x00") != tidy("A")


def test_an_id_has_no_underscore() -> None:
    assert fhir_id("bed_to_chair") == "bed-to-chair"


def test_a_code_is_read_as_words() -> None:
    assert words("not_achieved") == "not achieved"
    assert sentence("not_achieved") == "Not achieved"
    assert sentence("") == ""


@pytest.mark.parametrize(("title", "inside"), [("Left leg", "left leg"), ("MRC sum", "MRC sum")])
def test_an_abbreviation_keeps_its_capitals_inside_a_sentence(title: str, inside: str) -> None:
    assert uncapital(title) == inside


@pytest.mark.parametrize("minutes", [0, 60, -570, 840, -840])
def test_an_offset_that_fhir_knows_is_kept(minutes: int) -> None:
    moment = NOON.replace(tzinfo=timezone(timedelta(minutes=minutes)))
    assert zoned(moment).utcoffset() == timedelta(minutes=minutes)


@pytest.mark.parametrize("seconds", [841 * 60, -23 * 3600, 3601])
def test_any_other_offset_is_told_in_utc_as_the_same_moment(seconds: int) -> None:
    moment = NOON.replace(tzinfo=timezone(timedelta(seconds=seconds)))
    assert zoned(moment) == moment
    assert zoned(moment).tzinfo is UTC


def test_a_time_without_an_offset_is_refused() -> None:
    with pytest.raises(ValueError, match="offset"):
        zoned(NOON.replace(tzinfo=None))


@pytest.mark.parametrize(
    ("minutes", "read"),
    [
        (0, "4 March 2026, 12:00 (UTC)"),
        (60, "4 March 2026, 13:00 (UTC+1)"),
        (-210, "4 March 2026, 08:30 (UTC-3:30)"),
        (345, "4 March 2026, 17:45 (UTC+5:45)"),
        (840, "5 March 2026, 02:00 (UTC+14)"),
    ],
)
def test_a_time_is_told_as_it_is_read_at_the_bedside(minutes: int, read: str) -> None:
    beside = NOON.replace(tzinfo=timezone(timedelta(minutes=minutes)))
    assert clock_time(NOON, beside) == read


@pytest.mark.parametrize("month", range(1, 13))
def test_every_month_is_told_by_its_name(month: int) -> None:
    told = NOON.replace(month=month)
    assert clock_time(told, told).split()[1] == f"{told:%B}"
