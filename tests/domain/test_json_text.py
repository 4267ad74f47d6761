"""Is a body taken only when it is one JSON value that means one thing?"""

from decimal import Decimal
from typing import Any

import pytest

from service.domain.json_text import IMMENSE, parse, pointer, refuse_depth
from service.domain.problem import Refused, Unreadable


def refusal(body: bytes) -> tuple[str, str, str]:
    with pytest.raises(Unreadable) as caught:
        refuse_depth(parse(body))
    (fault,) = caught.value.faults
    return fault.rule, fault.path, fault.text


@pytest.mark.parametrize(
    ("body", "rule", "said"),
    [
        (b"", "json.empty", "empty"),
        (b" \n\t", "json.empty", "empty"),
        (b'{"a":', "json.malformed", "at byte 5"),
        (b'{"a":1,}', "json.malformed", "at byte 7"),
        (b"{} x", "json.malformed", "at byte"),
        (b"NaN", "json.malformed", "at byte 0"),
        (b'{"a":Infinity}', "json.malformed", "at byte 5"),
        (b'{"a":-Infinity}', "json.malformed", "at byte 6"),
        (b"[01]", "json.malformed", "at byte 2"),
        (b'["\\ud800 alone"]', "json.malformed", "at byte"),
        (b'["\\udc00 alone"]', "json.malformed", "at byte"),
        (b'["\x00"]', "json.malformed", "at byte 2"),
        (b"\xef\xbb\xbf{}", "json.encoding", "byte 0"),
        (b'{"a":"\xff"}', "json.encoding", "at byte 6"),
        (b'["\xed\xa0\x80"]', "json.encoding", "at byte 2"),
        ('{"a":"ä"}'.encode("latin-1"), "json.encoding", "at byte 6"),
        ("{}".encode("utf-16"), "json.encoding", "at byte 0"),
    ],
)
def test_what_is_no_json_is_refused_with_the_byte_at_fault(
    body: bytes, rule: str, said: str
) -> None:
    found, path, text = refusal(body)
    assert (found, path) == (rule, "")
    assert said in text


@pytest.mark.parametrize(
    ("body", "path"),
    [
        (b'{"a":1,"a":1}', "/a"),
        (b'{"a" :1,"a":2}', "/a"),
        (b'{"a":1,"\\u0061":2}', "/a"),
        (b'{"b":{"a":[1,{"c":1,"c":2}]}}', "/b/a/1/c"),
        (b'{"b":{"x":1},"b":{"x":1}}', "/b"),
        (b'{"a":"\\":","b":1,"b":2}', "/b"),
        (b'{"a":1,"b":2,"b":3,"a":4}', "/a"),
        # an escaped colon hides one key from a plain count while a repeat adds one
        (b'{"a":"\\u0022:","b":1,"b":2}', "/b"),
        (b'{"Mara Aldous":1,"Mara Aldous":2}', ""),
    ],
)
def test_a_key_that_comes_twice_is_refused_with_its_place(body: bytes, path: str) -> None:
    rule, found, _ = refusal(body)
    assert (rule, found) == ("json.duplicate_key", path)


@pytest.mark.parametrize(
    ("body", "value"),
    [
        (b'{"a" : "b\\":c", "d": [{"a":1},{"a":1}]}', {"a": 'b":c', "d": [{"a": 1}, {"a": 1}]}),
        (b'{"a":"x:y","b":":"}', {"a": "x:y", "b": ":"}),
        (b'{"a":"x :y","b":{}}', {"a": "x :y", "b": {}}),
        (b"3", 3),
    ],
)
def test_colons_in_text_and_equal_keys_of_different_objects_are_no_repeat(
    body: bytes, value: Any
) -> None:
    assert parse(body) == value


def test_numbers_keep_their_digits() -> None:
    (number,) = parse(b"[72.50]")
    assert str(number) == "72.50"
    assert parse(b"[1e2]") == [Decimal("1E+2")]


def test_a_number_no_decimal_can_hold_is_immense() -> None:
    assert parse(b"[1e99999999999999999999]") == [IMMENSE]


def test_a_whole_number_of_thousands_of_digits_is_refused() -> None:
    with pytest.raises(Refused) as caught:
        parse(b"[" + b"1" * 5000 + b"]")
    assert caught.value.faults[0].rule == "shape.range"


def test_nesting_is_allowed_to_its_limit_and_no_deeper() -> None:
    refuse_depth(parse(b"[" * 32 + b"1" + b"]" * 32))
    refuse_depth(parse(b'{"a":' * 32 + b"1" + b"}" * 32))
    refuse_depth(1)
    assert refusal(b"[" * 33 + b"]" * 33)[0] == "json.too_deep"


@pytest.mark.parametrize("depth", [5_000, 100_000])
def test_nesting_beyond_all_measure_is_refused_not_followed(depth: int) -> None:
    assert refusal(b"[" * depth + b"]" * depth)[0] == "json.too_deep"
    # which of the two is met first depends on how deep this Python goes
    assert refusal(b'{"a":' * depth)[0] in {"json.too_deep", "json.malformed"}


def test_deep_nesting_is_refused_while_a_repeated_key_is_looked_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def gives_up(*_: Any, **__: Any) -> Any:
        raise RecursionError

    monkeypatch.setattr("service.domain.json_text.json.loads", gives_up)
    assert refusal(b'{"a":1,"a":2}')[0] == "json.too_deep"


def test_a_name_that_may_be_a_persons_words_is_left_out_of_pointers() -> None:
    assert pointer("/patient", "mass_kg") == "/patient/mass_kg"
    assert pointer("/patient", "Mara Aldous") == "/patient"
    assert pointer("", "a/b") == ""
