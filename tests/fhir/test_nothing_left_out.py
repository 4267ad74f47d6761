"""Is every answer that was sent in the screen that was taken, whatever else was bent?

A response that is refused says why. One that is taken must have lost nothing on the way: a mass
that was dropped would be a plan for somebody else.
"""

from contextlib import suppress
from copy import deepcopy
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.problem import Refused
from tests.fhir.answers import FULL, HELPED
from tests.fhir.responses import Raw, all_items, answer_of, plain, read_screen, response_to

OTHERS: list[Any] = [
    0, 1, -1, Decimal("1.5"), Decimal("1E+2"), Decimal("100.000"), Decimal("1E+400"), 10**30, "x",
    "", "71.5", True, False, None, [], {}, [1], "2026-03-04", "2026-03-04T08:00:00Z", "2026-03",
    {"system": "http://unitsofmeasure.org", "code": "kg", "value": 70}, {"code": "hip"}, "any",
]  # fmt: skip
VALUES = (
    "valueInteger",
    "valueString",
    "valueQuantity",
    "valueBoolean",
    "valueDecimal",
    "valueDate",
)


@st.composite
def bent(draw: st.DrawFn) -> Raw:
    """A response with one or two of its answers changed in some way."""
    raw = plain(draw(st.sampled_from([FULL, HELPED])))
    for _ in range(draw(st.integers(1, 2))):
        _bend(draw, draw(st.sampled_from([item for item in all_items(raw) if item.get("answer")])))
    return raw


def _bend(draw: st.DrawFn, item: Raw) -> None:
    answer = item["answer"][0]
    name = next(iter(answer))
    way = draw(st.integers(0, 5))
    other = deepcopy(draw(st.sampled_from(OTHERS)))
    if way == 0:
        answer[name] = other
    elif way == 1:
        answer[draw(st.sampled_from(VALUES))] = other
    elif way == 2:
        item["answer"].append(deepcopy(answer))
    elif way == 3:
        item["linkId"] = draw(st.sampled_from(["x", f"{item['linkId']}.x", "patient"]))
    elif isinstance(answer[name], dict) and answer[name]:
        part = draw(st.sampled_from(sorted(answer[name])))
        if way == 4:
            answer[name][part] = other
        else:
            del answer[name][part]


def said(raw: Raw) -> dict[str, list[Any]]:
    """Link id → what was answered there: numbers by value, codes by code."""
    told: dict[str, list[Any]] = {}
    for item in all_items(raw):
        for answer in item.get("answer", ()):
            (value,) = answer.values()
            if isinstance(value, dict):
                value = value.get("value", value.get("code"))
            told.setdefault(item["linkId"], []).append(
                Decimal(value) if type(value) is int else value
            )
    return told


def lost(sent: Raw) -> list[str]:
    """The link ids whose answers are not in the screen that was read. Raises Refused."""
    kept = said(response_to(read_screen(sent)))
    return [
        link
        for link, values in said(sent).items()
        if sorted(map(str, kept.get(link, ()))) != sorted(map(str, values))
        and sorted(kept.get(link, ())) != sorted(values)
    ]


@settings(max_examples=400)
@given(raw=bent())
def test_what_is_taken_has_every_answer_that_was_sent(raw: Raw) -> None:
    with suppress(Refused):
        assert lost(raw) == []


def test_an_untouched_response_has_lost_nothing() -> None:
    assert lost(plain(FULL)) == []
    assert len(said(plain(FULL))) > 100


def test_an_answer_that_is_not_there_is_seen_to_be_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    sent = plain(FULL)
    taken = read_screen(plain(HELPED))
    monkeypatch.setattr(f"{__name__}.read_screen", lambda _: taken)
    assert "readiness.rass" not in lost(sent)
    assert "patient.stature_cm" in lost(sent)
    assert answer_of(sent, "patient.stature_cm")
