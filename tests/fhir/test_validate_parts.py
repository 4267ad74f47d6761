"""Is it seen where the parts of a whole do not agree, and are references followed inside it?"""

from typing import Any

import pytest

from tests.fhir.broken import OBSERVATION, TEXT, faults

UUID = "urn:uuid:c757873d-ec9a-4326-a141-556f43239520"
PATIENT: dict[str, Any] = {"resourceType": "Patient", "text": TEXT}
SUBJECT = "Bundle.entry[0].resource.subject"
FULL_URL = "Bundle.entry[0].fullUrl"
HERE = "http://a.example/fhir"


def bundle(*entries: Any, kind: str = "collection") -> dict[str, Any]:
    return {"resourceType": "Bundle", "type": kind, "entry": list(entries)}


def about(**subject: Any) -> dict[str, Any]:
    return {"resource": {**OBSERVATION, "subject": subject}}


def test_a_uuid_leads_to_an_entry_of_its_bundle() -> None:
    entries = [about(reference=UUID), {"fullUrl": UUID, "resource": PATIENT}]
    assert faults(bundle(*entries)) == []
    assert faults(bundle(entries[0])) == [("reference_dangling", f"{SUBJECT}.reference")]


def test_what_it_leads_to_has_a_type_that_may_be_there() -> None:
    other = {"fullUrl": UUID, "resource": {"resourceType": "Organization", "name": "x",
                                           "text": TEXT}}  # fmt: skip
    assert faults(bundle(about(reference=UUID), other)) == [("reference_type", SUBJECT)]
    group = {"fullUrl": UUID, "resource": PATIENT}
    said = about(reference=UUID, type="Group")
    assert faults(bundle(said, group)) == [("reference_type", f"{SUBJECT}.type")]


@pytest.mark.parametrize("kind", ["transaction", "batch"])
def test_a_search_may_stand_for_a_reference_in_a_transaction_alone(kind: str) -> None:
    asked = {**about(reference="Patient?identifier=s|v"), "fullUrl": UUID,
             "request": {"method": "POST", "url": "Observation"}}  # fmt: skip
    told = faults(bundle(asked, kind=kind))
    assert told == ([] if kind == "transaction" else [("reference_form", f"{SUBJECT}.reference")])


def test_what_is_searched_for_has_a_type_that_may_be_there() -> None:
    asked = {**about(reference="Practitioner?identifier=s|v"), "fullUrl": UUID,
             "request": {"method": "POST", "url": "Observation"}}  # fmt: skip
    assert faults(bundle(asked, kind="transaction")) == [("reference_type", SUBJECT)]


@pytest.mark.parametrize(
    ("address", "rule"),
    [
        (f"{HERE}/Observation/a", ""),
        ("http://a.example/something/else", ""),
        (UUID, ""),
        ("urn:oid:1.2.3", ""),
        ("Observation/a", "value_form"),
        (UUID.upper().replace("URN:UUID", "urn:uuid"), "value_form"),
        (f"{HERE}/Observation/b", "other_id"),
        (f"{HERE}/Patient/a", "other_id"),
    ],
)
def test_an_entry_is_called_by_a_whole_address_that_is_its_own(address: str, rule: str) -> None:
    told = faults(bundle({"fullUrl": address, "resource": OBSERVATION}))
    assert told == ([(rule, FULL_URL)] if rule else [])


def test_a_bundle_inside_is_looked_at_by_itself() -> None:
    inner = bundle(about(reference=UUID))
    outer = bundle({"resource": inner}, {"fullUrl": UUID, "resource": PATIENT})
    path = "Bundle.entry[0].resource.entry[0].resource.subject.reference"
    assert faults(outer) == [("reference_dangling", path)]


def test_each_thing_contained_has_its_own_id() -> None:
    twice = [{"resourceType": "Patient", "id": "p"}, {"resourceType": "Device", "id": "p"}]
    resource = {**OBSERVATION, "contained": twice, "subject": {"reference": "#p"}}
    assert faults(resource) == [("too_many", "Observation.contained[1].id")]


def test_a_condition_asks_for_an_item_of_the_same_form() -> None:
    inner = {"linkId": "b", "type": "string", "enableWhen": [
        {"question": "c", "operator": "exists", "answerBoolean": True}]}  # fmt: skip
    items = [{"linkId": "a", "type": "group", "item": [inner]}, {"linkId": "c", "type": "string"}]
    form = {"resourceType": "Questionnaire", "status": "draft", "text": TEXT, "item": items}
    assert faults(form) == []
    path = "Questionnaire.item[0].item[0].enableWhen[0].question"
    assert faults({**form, "item": items[:1]}) == [("reference_dangling", path)]
    both = bundle({"resource": {**form, "item": items[:1]}}, {"resource": form})
    assert faults(both) == [("reference_dangling", f"Bundle.entry[0].resource{path[13:]}")]


@pytest.mark.parametrize("entry", [3, ["x"], [{"fullUrl": 3, "resource": "x"}], [None]])
def test_an_entry_out_of_form_is_told_for_its_form_alone(entry: Any) -> None:
    told = faults({"resourceType": "Bundle", "type": "collection", "entry": entry})
    assert told
    assert {rule for rule, _ in told} <= {"json_form", "not_an_object", "empty"}
