"""Do references to the person, the stay and the assessor agree with the items?"""

from typing import Any

import pytest

from tests.fhir.answers import FULL
from tests.fhir.responses import Raw, answer_of, faults_of, full, plain, read_screen, without

SYSTEM = "urn:oid:2.999.7"
PARTS = {
    "subject": ("Patient", "patient.identifier", "Encounter"),
    "encounter": ("Encounter", "encounter", "Patient"),
    "author": ("Practitioner", "assessor.identifier", "Organization"),
}


def identifier(value: str, system: str = SYSTEM) -> Raw:
    return {"identifier": {"system": system, "value": value}}


@pytest.mark.parametrize("name", PARTS)
def test_an_identifier_stands_in_for_the_items(name: str) -> None:
    _, link, _ = PARTS[name]
    raw = {**without(plain(), link), name: full()[name]}
    assert read_screen(raw) == FULL


@pytest.mark.parametrize("name", PARTS)
def test_another_identifier_than_the_items_have_is_a_fault(name: str) -> None:
    assert faults_of({**plain(), name: identifier("other")}) == [
        (f"/{name}/identifier", "form.disagrees")
    ]


@pytest.mark.parametrize("name", PARTS)
def test_half_of_the_items_is_made_whole(name: str) -> None:
    _, link, _ = PARTS[name]
    raw = {**without(plain(), f"{link}.system"), name: full()[name]}
    assert read_screen(raw) == FULL


@pytest.mark.parametrize("name", PARTS)
def test_a_reference_to_another_kind_of_thing_is_a_fault(name: str) -> None:
    kind, _, other = PARTS[name]
    good = {key: value for key, value in full()[name].items() if key in ("identifier", "display")}
    for bad in (
        {"type": other},
        {"reference": f"http://ehr.example/{other}/1"},
        {"reference": f"{other}/1/_history/2"},
        {"reference": f"{other}?identifier=urn:x%7C1"},
        {"type": kind, "reference": f"{other}/1"},
        {"type": other, "reference": f"{kind}/1"},
    ):
        assert faults_of({**plain(), name: {**good, **bad}}) == [(f"/{name}", "form.reference")]


@pytest.mark.parametrize("name", ["encounter", "author"])
def test_a_reference_alone_is_enough_only_beside_the_items(name: str) -> None:
    kind, link, _ = PARTS[name]
    reference = {name: {"reference": f"{kind}/1"}}
    assert read_screen({**plain(), **reference}) == FULL
    assert faults_of({**without(plain(), link), **reference}) == [(f"/{name}", "form.reference")]


def test_a_practitioner_role_can_be_the_author() -> None:
    role = {**full()["author"], "type": "PractitionerRole"}
    assert read_screen({**plain(), "author": role}) == FULL


def test_the_display_of_an_author_is_no_role() -> None:
    author = {**full()["author"], "display": "Dr Alder"}
    screen = read_screen({**without(plain(), "assessor"), "author": author})
    assert screen.assessor is not None
    assert screen.assessor.role is None


def test_a_subject_by_another_identifier_of_theirs_agrees() -> None:
    subject = identifier("N-12", "urn:oid:2.999.70")
    assert read_screen({**plain(), "subject": subject}) == FULL


@pytest.mark.parametrize("half", [{"value": "x"}, {"system": "urn:x"}, {}, [], "x"])
def test_half_an_identifier_is_a_fault_and_not_a_missing_one_too(half: Any) -> None:
    raw = {**without(plain(), "encounter"), "encounter": {"identifier": half}}
    assert ("/encounter/identifier", "form.identifier") in faults_of(raw)


@pytest.mark.parametrize("name", PARTS)
@pytest.mark.parametrize(("end", "used"), [("2026-03-03", False), ("2026-03-04", True)])
def test_an_identifier_that_ended_before_is_not_followed(name: str, end: str, used: bool) -> None:  # noqa: FBT001
    raw = {**plain(), name: {"identifier": {**full()[name]["identifier"], "period": {"end": end}}}}
    told = [] if used else [(f"/{name}/identifier", "form.identifier")]
    assert faults_of(raw) == told
    assert faults_of(without(raw, "observed_at")) == told


def test_what_could_not_be_read_is_not_filled_in() -> None:
    raw = {**plain(), "encounter": full()["encounter"]}
    answer_of(raw, "encounter.value").clear()
    answer_of(raw, "encounter.value")["valueInteger"] = 1
    assert [rule for _, rule in faults_of(raw)] == ["form.answer_type"]
