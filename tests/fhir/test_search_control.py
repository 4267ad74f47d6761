"""Are count, order, total and form of a search read, and is what cannot be refused by name?"""

import pytest

from service.fhir.search_control import (
    CONTROLS,
    MOST,
    Control,
    Order,
    control_of,
    elements_of,
    most_of,
)
from service.fhir.search_parameters import PARAMETERS


def read(kind: str = "Observation", **said: str) -> Control:
    faults: list[tuple[str, str]] = []
    given = {f"_{name}": (value,) for name, value in said.items()}
    found = control_of(kind, given, lambda name, text: faults.append((name, text)))
    assert faults == []
    return found


def refused(name: str, *values: str, kind: str = "Observation") -> list[str]:
    faults = []
    control_of(kind, {name: values}, lambda found, _: faults.append(found))
    return faults


def test_nothing_said_is_a_page_of_the_usual_length() -> None:
    assert read() == Control(count=50)
    assert read("CarePlan").count == 20
    assert all(read(kind).count <= most_of(kind) for kind in PARAMETERS)


@pytest.mark.parametrize(
    ("kind", "asked", "count"),
    [("Observation", "7", 7), ("Observation", "999999", 500), ("Flag", "999", MOST)],
)
def test_a_page_has_what_was_asked_for_up_to_the_most(kind: str, asked: str, count: int) -> None:
    assert read(kind, count=asked) == Control(count=count)


def test_no_entries_and_a_summary_of_the_count_both_ask_for_the_total_alone() -> None:
    assert read(count="0").only_count
    assert read(summary="count").only_count
    assert not read(summary="true").only_count


@pytest.mark.parametrize(
    ("asked", "order"),
    [("date", Order("date", newest_first=False)), ("-date", Order("date", newest_first=True)),
     ("-_lastUpdated", Order("_lastUpdated", newest_first=True))],
)  # fmt: skip
def test_the_order_is_a_parameter_with_a_sign(asked: str, order: Order) -> None:
    assert read(sort=asked).order == order


def test_further_keys_sort_what_the_first_leaves_equal() -> None:
    found = read(sort="-date,_lastUpdated,-_id")
    assert found.orders == (
        Order("date", newest_first=True),
        Order("_lastUpdated", newest_first=False),
        Order("_id", newest_first=True),
    )
    assert found.order == found.orders[0]
    assert read("Goal", sort="_id").order == Order("_id", newest_first=False)


@pytest.mark.parametrize(
    ("kind", "asked"),
    [
        ("Observation", "date,date"), ("Observation", "date,-date"), ("Observation", "date,code"),
        ("Observation", "_id"), ("Observation", "_id,date"), ("Observation", "date,"),
        ("Goal", "-_id"), ("Goal", "_id,_lastUpdated"), ("AuditEvent", "date,_id"),
        ("Provenance", "_id"),
    ],
)  # fmt: skip
def test_keys_that_cannot_be_kept_to_are_refused(kind: str, asked: str) -> None:
    assert refused("_sort", asked, kind=kind) == ["_sort"]


@pytest.mark.parametrize(
    ("kind", "told"),
    [
        ("QuestionnaireResponse", "One of: _lastUpdated, authored, -_lastUpdated, -authored,"),
        ("CarePlan", ", -date, and behind commas also: _lastUpdated, date, _id."),
        ("AuditEvent", "One of: date, -date."),
        ("Flag", "One of: _id."),
        ("Provenance", "One of: none for this type."),
    ],
)  # fmt: skip
def test_it_is_said_by_what_a_type_is_sorted(kind: str, told: str) -> None:
    faults = []
    control_of(kind, {"_sort": ("code",)}, lambda _, text: faults.append(text))
    (text,) = faults
    assert told in text


def test_a_star_brings_along_all_there_is() -> None:
    every = ("Observation:patient", "Observation:subject")
    assert read(include="*").includes == read(include="Observation:*").includes == every
    assert read(revinclude="*").rev_includes == ("Provenance:target",)
    assert read(revinclude="Provenance:*").rev_includes == ("Provenance:target",)
    assert refused("_revinclude", "*", kind="Patient") == ["_revinclude"]


def test_the_text_alone_is_not_given_with_what_is_brought_along() -> None:
    faults: list[str] = []
    for name, value in (("_include", "Observation:patient"), ("_revinclude", "Provenance:target")):
        said = {"_summary": ("text",), name: (value,)}
        control_of("Observation", said, lambda found, _: faults.append(found))
    assert faults == ["_summary", "_summary"]


def test_what_is_brought_along_may_name_its_target() -> None:
    assert read(include="Observation:subject:Patient").includes == ("Observation:subject",)
    assert read(revinclude="Provenance:target").rev_includes == ("Provenance:target",)


def test_elements_are_those_at_the_top_of_the_type() -> None:
    assert read(elements="code,Observation.value").elements == ("code", "value")
    assert {"id", "meta", "code", "value", "status"} <= elements_of("Observation")


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("count", "-1"), ("count", "many"), ("count", "1" * 10), ("count", "١"),
        ("sort", "code"), ("sort", "--date"),
        ("total", "exact"), ("summary", "TRUE"), ("elements", "code,nothing"),
        ("include", "Observation:encounter"), ("revinclude", "Observation:patient"),
        ("cursor", "x" * 601),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_name(name: str, value: str) -> None:
    assert refused(f"_{name}", value) == [f"_{name}"]


def test_a_type_without_an_order_cannot_be_sorted() -> None:
    assert refused("_sort", "_lastUpdated", kind="Flag") == ["_sort"]


def test_every_control_is_read() -> None:
    for name in CONTROLS:
        assert refused(name, "?", "??") == [name]
