"""Is a cursor taken back only as it was handed out?"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.problem import Refused
from service.storage.cursor import cursor_of, read_cursor, read_trail_place, trail_word


@given(st.integers(-(2**62), 2**62), st.uuids().map(str))
def test_a_cursor_comes_back(value: int, row_id: str) -> None:
    assert read_cursor(cursor_of(value, row_id)) == (value, row_id)


@given(st.text())
def test_any_other_word_is_refused_and_named_or_is_a_cursor(word: str) -> None:
    places = ["/cursor"]
    try:
        read_cursor(word)
    except Refused as refused:
        places = [fault.path for fault in refused.faults]
    assert places == ["/cursor"]


@pytest.mark.parametrize(
    "word", ["", "x", "é", "WyJhIiwxXQ", "a" * 5000, cursor_of(2**63, "a"), "WzFd", "[1]"]
)
def test_what_was_never_handed_out_is_refused(word: str) -> None:
    with pytest.raises(Refused) as refused:
        read_cursor(word)
    assert refused.value.faults[0].path == "/cursor"


@given(st.integers(-(2**62), 2**62), st.integers(0, 9), st.integers(0, 2**62))
def test_a_place_in_the_trail_comes_back(at: int, chain: int, seq: int) -> None:
    assert read_trail_place(trail_word(at, chain, seq)) == (at, chain, seq)


@pytest.mark.parametrize(
    "word", ["", "x", "a" * 5000, cursor_of(1, "a"), trail_word(1, -1, 1), trail_word(2**63, 1, 1)]
)
def test_a_place_in_the_trail_that_was_never_handed_out_is_refused(word: str) -> None:
    with pytest.raises(Refused):
        read_trail_place(word)
