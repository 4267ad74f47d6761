"""Is a value of a primitive type taken exactly where the standard takes it?"""

from decimal import Decimal
from typing import Any

import pytest

from service.fhir.validate_finding import Rule
from service.fhir.validate_primitive import primitive_findings

GOOD = [
    ("boolean", False), ("integer", -(2**31)), ("unsignedInt", 0), ("positiveInt", 1),
    ("decimal", 1), ("decimal", Decimal("-0.50")), ("decimal", Decimal("1E-9")),
    ("string", "ä\n"), ("string", "\u0085x"), ("markdown", "# a"), ("code", "a b"),
    ("id", "A.9-"), ("uri", "urn:x"), ("uri", "urn:oid:1.2.0"),
    ("string", "a" * 1_048_576), ("url", "https://a.example/?b=1#c"), ("canonical", "x|1"),
    ("oid", "urn:oid:1.2.0"), ("uuid", "urn:uuid:c757873d-ec9a-4326-a141-556f43239520"),
    ("base64Binary", "YQ== "), ("date", "2026"), ("date", "2026-01"), ("date", "2024-02-29"),
    ("dateTime", "2026-01-31T24:00:00Z"[:10]), ("dateTime", "2026-01-31T23:59:60.5+14:00"),
    ("instant", "2026-01-31T23:59:59.123Z"), ("time", "23:59:59"),
]  # fmt: skip
FORM = [
    ("boolean", "true"), ("boolean", 1), ("integer", True), ("integer", "1"),
    ("integer", Decimal("1.0")), ("decimal", "1"), ("decimal", True), ("string", 1),
    ("code", ["a"]), ("date", 2026),
]  # fmt: skip
VALUE = [
    ("integer", 2**31), ("unsignedInt", -1), ("positiveInt", 0), ("decimal", Decimal("Infinity")),
    ("string", " \n"), ("string", "a\x00"), ("markdown", ""), ("code", " a"), ("code", "a  b"),
    ("id", "a" * 65), ("id", "a_b"), ("uri", "a b"), ("uri", ""),
    ("uri", "http://a\u00a0b"), ("uri", "urn:oid:1.02"),
    ("canonical", "urn:uuid:1"), ("url", "a\n"), ("string", "a" * 1_048_577), ("oid", "1.2.3"),
    ("uuid", "urn:uuid:C757873D-EC9A-4326-A141-556F43239520"), ("base64Binary", "YQ="),
    ("base64Binary", "ä"), ("base64Binary", " "), ("date", "26-01-01"), ("date", "2026-1-1"),
    ("date", "0000"), ("date", "2026-13"), ("date", "2026-01-31T00:00:00Z"),
    ("date", "２０２６"), ("dateTime", "2026-01-31T09:30"), ("dateTime", "2026-01-31T09:30:00"),
    ("dateTime", "2026-01-31T24:00:00Z"), ("instant", "2026-01-31"), ("time", "9:30:00"),
    ("time", "24:00:00"),
]  # fmt: skip
CALENDAR = [
    ("date", "2026-02-30"), ("date", "2025-02-29"), ("dateTime", "2026-04-31T00:00:00Z"),
    ("instant", "2100-02-29T00:00:00Z"),
]  # fmt: skip


def rules(kind: str, value: Any) -> list[Rule]:
    return [each.rule for each in primitive_findings(kind, value, "a")]


@pytest.mark.parametrize(("kind", "value"), GOOD)
def test_a_value_of_the_standard_is_taken(kind: str, value: Any) -> None:
    assert rules(kind, value) == []


@pytest.mark.parametrize(("kind", "value"), FORM)
def test_another_kind_of_json_is_told(kind: str, value: Any) -> None:
    assert rules(kind, value) == [Rule.JSON_FORM]


@pytest.mark.parametrize(("kind", "value"), VALUE)
def test_a_value_out_of_form_is_told(kind: str, value: Any) -> None:
    assert rules(kind, value) == [Rule.VALUE_FORM]


@pytest.mark.parametrize(("kind", "value"), CALENDAR)
def test_a_day_that_never_was_is_told(kind: str, value: Any) -> None:
    assert rules(kind, value) == [Rule.NOT_IN_CALENDAR]


def test_the_words_say_how_to_write_it_and_never_what_was_sent() -> None:
    (found,) = primitive_findings("date", "somebody said", "a")
    assert "YYYY-MM-DD" in found.text
    assert "somebody" not in found.text
