"""Does each invariant in code say what its expression in the standard says?"""

from decimal import Decimal
from typing import Any

import pytest

from service.fhir.base_facts import type_facts
from service.fhir.validate_invariants import holds
from service.fhir.validate_native import NATIVE
from service.fhir.validate_tree import Node, Within

QUANTITIES = [{}, {"code": "kg"}, {"code": "kg", "system": "u"}, {"value": 1}]
EXTENSIONS = [
    {"url": "u"}, {"url": "u", "valueString": "x"}, {"url": "u", "extension": [{"url": "v"}]},
    {"url": "u", "valueString": "x", "extension": [{"url": "v"}]},
]  # fmt: skip


def node_of(kind: str, value: Any, **around: Any) -> Node:
    facts = type_facts(kind)
    within = Within(around.get("root", {}), around.get("resource", {}), around.get("ids", {}))
    return Node("a", facts.elements[0], facts, kind, kind, value, within)


def by_engine(key: str, kind: str, value: Any) -> bool:
    expression = type_facts(kind).constraints[key].expression
    return holds("", expression, node_of(kind, value))


@pytest.mark.parametrize("value", QUANTITIES)
def test_a_coded_unit_needs_its_system_as_the_engine_says(value: Any) -> None:
    assert NATIVE["qty-3"](node_of("Quantity", value)) == by_engine("qty-3", "Quantity", value)


@pytest.mark.parametrize("value", EXTENSIONS)
def test_an_extension_has_a_value_or_parts_as_the_engine_says(value: Any) -> None:
    assert NATIVE["ext-1"](node_of("Extension", value)) == by_engine("ext-1", "Extension", value)


def test_an_extension_whose_value_is_absent_for_a_reason_has_one() -> None:
    assert NATIVE["ext-1"](node_of("Extension", {"url": "u", "_valueString": {"id": "a"}}))


def test_an_element_with_nothing_but_an_id_is_empty() -> None:
    assert not NATIVE["ele-1"](node_of("Quantity", {"id": "a"}))
    assert NATIVE["ele-1"](node_of("Quantity", {"id": "a", "value": 1}))
    assert NATIVE["ele-1"](node_of("string", "x"))


@pytest.mark.parametrize(
    ("start", "end", "good"),
    [
        ("2026-01-31", "2026-01-31", True),
        ("2026-02-01", "2026-01-31", False),
        ("2026", "2025-12", False),
        ("2026-01", "2026-01-31", True),
        ("2026-01-31T10:00:00Z", "2026-01-31", True),
        ("2026-02-01T10:00:00Z", "2026-01-31", False),
        ("2026-01-31T10:00:00+02:00", "2026-01-31T09:00:00Z", True),
        ("2026-01-31T10:00:00Z", "2026-01-31T11:00:00+02:00", False),
        ("2026-01-31T10:00:00Z", "2026-01-31T10:00:00.000Z", True),
        ("2026-01-31T10:00:00Z", "no time T", True),
        ("2026", None, True),
    ],
)
def test_a_period_ends_no_earlier_than_it_starts(start: str, end: Any, good: Any) -> None:
    assert NATIVE["per-1"](node_of("Period", {"start": start, "end": end})) == good


@pytest.mark.parametrize(
    ("low", "high", "good"),
    [
        ({"value": 1}, {"value": Decimal("1.0")}, True),
        ({"value": 2}, {"value": Decimal("1.9")}, False),
        ({"value": 2, "code": "kg"}, {"value": 1, "code": "g"}, True),
        ({"value": 2}, None, True),
        ({"value": 2}, {"value": "1"}, True),
    ],
)
def test_a_range_goes_upwards(low: Any, high: Any, good: Any) -> None:
    assert NATIVE["rng-2"](node_of("Range", {"low": low, "high": high})) == good


def test_a_reference_with_a_hash_leads_inside() -> None:
    root, inner = {"a": 1}, {"b": 1}
    known: dict[str, Any] = {"root": root, "resource": root, "ids": {"d": "Device"}}
    holds_for = NATIVE["ref-1"]
    assert holds_for(node_of("Reference", {"reference": "#d"}, **known))
    assert not holds_for(node_of("Reference", {"reference": "#e"}, **known))
    assert not holds_for(node_of("Reference", {"reference": "#"}, **known))
    assert holds_for(node_of("Reference", {"reference": "#"}, **{**known, "resource": inner}))
    assert holds_for(node_of("Reference", {"reference": "Patient/p"}, **known))
    assert holds_for(node_of("Reference", {"display": "x"}, **known))


def test_a_narrative_is_plain_and_says_something() -> None:
    good = '<div xmlns="http://www.w3.org/1999/xhtml">a</div>'
    assert NATIVE["txt-1"](node_of("xhtml", good)) and NATIVE["txt-2"](node_of("xhtml", good))
    assert not NATIVE["txt-1"](node_of("xhtml", good.replace("a", "<script/>")))
    assert not NATIVE["txt-2"](node_of("xhtml", good.replace("a", " ")))


def test_whether_an_answer_exists_is_true_or_false() -> None:
    holds_for, asked = NATIVE["que-7"], {"question": "a", "operator": "exists"}
    assert holds_for(node_of("BackboneElement", {**asked, "answerBoolean": False}))
    assert not holds_for(node_of("BackboneElement", {**asked, "answerString": "x"}))
    assert holds_for(node_of("BackboneElement", {**asked, "operator": "=", "answerString": "x"}))
