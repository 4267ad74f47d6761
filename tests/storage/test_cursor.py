"""Is a cursor taken back only as it was handed out?"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.problem import Refused
from service.storage.cursor import cursor_of, read_cursor


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
