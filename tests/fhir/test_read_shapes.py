"""Does the quick look pass only what the close look passes too?"""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings

from service.domain.screen import Screen
from service.fhir.read_elements import element_faults
from service.fhir.read_response import draft_of
from service.fhir.read_shapes import is_common
from tests.fhir.answers import SITE
from tests.fhir.responses import Raw, full, plain, response_to
from tests.strategies import screens


@settings(max_examples=25)
@given(screen=screens())
def test_what_goes_out_and_what_form_tools_send_is_common(screen: Screen) -> None:
    for raw in (response_to(screen), plain(screen)):
        assert is_common(raw)
        assert list(element_faults(raw, "QuestionnaireResponse", "")) == []


def changed(raw: Raw, *path: str | int, value: Any) -> Raw:
    inner: Any = raw
    for part in path[:-1]:
        inner = inner[part]
    inner[path[-1]] = value
    return raw


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("subject",), None),
        (("meta",), None),
        (("meta", "profile"), []),
        (("meta", "lastUpdated"), "2026-03-04T08:15:00"),
        (("unknown",), 1),
        (("extension",), []),
        (("contained",), []),
        (("_status",), {}),
        (("status",), 1),
        (("item", 0, "linkId"), ""),
        (("item", 0, "linkId"), 7),
        (("item", 0, "item"), []),
        (("item", 0, "extension"), []),
        (("item",), {}),
        (("item", 0), None),
        (("authored",), "2026"),
        (("authored",), "2026-13-01T00:00:00Z"),
        (("authored",), "2026-02-30T00:00:00Z"),
        (("authored",), "2026-03-04T08:15Z"),
        (("questionnaire",), "with space"),
        (("id",), "a_b"),
        (("subject", "reference"), ""),
        (("identifier", "use"), "official"),
    ],
)
def test_what_is_not_common_gets_a_closer_look(path: tuple[str | int, ...], value: Any) -> None:
    assert not is_common(changed(full(), *path, value=value))


def test_nothing_else_is_a_response() -> None:
    raws: tuple[Any, ...] = (None, [], "x", {}, {"status": "completed"})
    for raw in raws:
        assert not is_common(raw)


def answers(items: list[Raw]) -> Iterator[Raw]:
    for item in items:
        yield from item.get("answer", ())
        yield from answers(item.get("item", []))


def otherwise(value: Any) -> Iterator[Any]:
    """``value`` in another type of JSON: a number as its text, a text as a list of it."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from ({**value, name: other} for other in otherwise(inner))
    else:
        yield [value] if isinstance(value, str) else json.dumps(value, default=str).strip('"')


def test_an_answer_of_another_type_is_told_and_never_left_out() -> None:
    """A mass that was left out would be a plan for somebody else."""
    count = len(list(answers(full()["item"])))
    assert count > 100
    for place in range(count):
        raw = full()
        answer = list(answers(raw["item"]))[place]
        ((name, value),) = answer.items()
        for other in otherwise(value):
            answer[name] = other
            assert not is_common(raw), answer
            draft = draft_of(SITE, raw)
            assert draft.reading.faults, answer
