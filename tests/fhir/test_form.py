"""Does the form ask for every field of the screen, each under its own path?"""

from typing import Any

import msgspec
import msgspec.inspect as shape
import pytest

from service.domain.screen import Screen
from service.fhir.form import FormItem, _Maker, form_of
from tests.fhir.answers import FULL, SITE


def items(form: tuple[FormItem, ...]) -> list[FormItem]:
    return [one for item in form for one in (item, *items(item.parts))]


FORM = items(SITE.form)


def paths(value: Any, above: str = "") -> set[str]:
    """The paths of everything that is not null or empty in a screen's own JSON."""
    if isinstance(value, dict):
        return {
            path
            for name, inner in value.items()
            for path in paths(inner, f"{above}.{name}" if above else name)
        }
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return {path for inner in value for path in paths(inner, above)}
    return set() if value in (None, []) else {above}


def test_every_field_has_exactly_one_item() -> None:
    links = [item.link for item in FORM]
    assert len(links) == len(set(links))


def test_every_field_of_a_full_screen_has_an_item_at_its_path() -> None:
    links = {item.link.replace(".listed.", ".") for item in FORM}
    assert paths(msgspec.to_builtins(FULL)) <= links


def test_the_items_stand_in_the_order_of_the_fields() -> None:
    assert tuple(item.name for item in SITE.form) == Screen.__struct_fields__


def test_a_closed_list_is_asked_as_a_choice_of_its_own_system() -> None:
    item = next(item for item in FORM if item.link == "stages.rise.outcome")
    answer, ready, line = item.ready["achieved_with_help"]
    assert answer.value_coding is not None
    assert answer.value_coding.system == "https://stanchion.example/fhir/CodeSystem/outcome"
    assert ready.link_id == "stages.rise.outcome"
    assert line == "Rising to stand, outcome: achieved with help"


def test_a_list_that_must_be_sent_can_say_none() -> None:
    ready = {item.link: item.ready for item in FORM}
    assert "none" in ready["orders.precautions"]
    assert "none" not in ready["readiness.symptoms"]


def test_only_a_result_that_must_be_sent_and_may_be_null_can_say_not_able() -> None:
    assert {item.link for item in FORM if item.unable} == {
        "tests.five_times_sit_to_stand.seconds",
        "tests.sppb.side_by_side_s",
        "tests.sppb.semi_tandem_s",
        "tests.sppb.tandem_s",
        "tests.sppb.chair_stands_s",
        "tests.sppb.gait_4m_s",
    }


def test_units_are_not_said_twice() -> None:
    item = next(item for item in FORM if item.link == "patient.mass_kg")
    assert (item.text, item.unit, item.kind) == ("Mass", "kg", "quantity")


def test_stages_are_called_as_the_rule_book_calls_them() -> None:
    form = items(form_of(lambda kind: kind, {"stages.rise": "Getting up"}))
    assert next(item for item in form if item.link == "stages.rise").text == "Getting up"


def test_a_field_with_the_name_of_a_stage_is_called_by_its_own() -> None:
    item = next(item for item in FORM if item.link == "tests.mrc_sum.left.knee_extension")
    assert item.text == "Knee extension"


def test_a_list_of_what_has_no_form_is_refused() -> None:
    with pytest.raises(TypeError, match="no fields to ask for"):
        _Maker(lambda kind: kind, {}).items(shape.IntType(), "context.counts")
