"""Is what each entry asks for understood, and what it cannot ask for told in its place?"""

from typing import Any

import pytest

from service.domain.problem import Refused
from service.fhir.read_bundle import MOST_ENTRIES, entries_of
from tests.fhir.answers import BASE

ANSWERED = {"resourceType": "QuestionnaireResponse", "status": "completed"}
AWAY = "http://ehr.example/x"
URN = "urn:uuid:8a1c1c1e-2a3b-4c4d-9e8f-000000000001"


def bundle(*entries: Any, kind: Any = "transaction") -> Any:
    return {"resourceType": "Bundle", "type": kind, "entry": list(entries)}


def entry(method: str = "POST", url: str = "QuestionnaireResponse", **more: Any) -> Any:
    return {"resource": ANSWERED, "request": {"method": method, "url": url}, **more}


def faults(*entries: Any) -> list[tuple[str, str]]:
    _, found = entries_of(bundle(*entries), BASE)
    return [(fault.path, fault.rule) for one in found for fault in one.faults]


def test_an_entry_is_told_with_its_conditions() -> None:
    asked = {
        "method": "PUT", "url": f"{BASE}/QuestionnaireResponse/1", "ifMatch": 'W/"2"',
        "ifNoneMatch": 'W/"3"', "ifModifiedSince": "2026-03-04T08:15:00Z",
    }  # fmt: skip
    kind, (one,) = entries_of(
        bundle({"fullUrl": URN, "resource": ANSWERED, "request": asked}, kind="batch"), BASE
    )
    assert kind == "batch"
    assert (one.method, one.url, one.kind) == (
        "PUT",
        "QuestionnaireResponse/1",
        ANSWERED["resourceType"],
    )
    assert (one.full_url, one.if_match, one.if_none_exist) == (URN, 'W/"2"', None)
    assert dict(one.headers) == {
        "if-none-match": 'W/"3"',
        "if-modified-since": "2026-03-04T08:15:00Z",
    }
    assert (one.place, one.faults) == ("/Bundle/entry/0", ())


@pytest.mark.parametrize(
    ("raw", "place", "rule"),
    [
        (None, "/Bundle/resourceType", "form.resource_type"),
        ({"resourceType": "List"}, "/Bundle/resourceType", "form.resource_type"),
        (bundle(kind="collection"), "/Bundle/type", "bundle.type"),
        (bundle(kind=["transaction"]), "/Bundle/type", "bundle.type"),
        ({"resourceType": "Bundle", "type": "batch", "entry": None}, "/Bundle/entry", "shape.type"),
        (bundle(*[{}] * (MOST_ENTRIES + 1)), "/Bundle/entry", "bundle.too_many"),
        ({**bundle(), "modifierExtension": []}, "/Bundle/modifierExtension", "form.modifier"),
    ],
)
def test_what_is_no_bundle_to_be_done_is_refused(raw: Any, place: str, rule: str) -> None:
    with pytest.raises(Refused) as told:
        entries_of(raw, BASE)
    assert (place, rule) in [(fault.path, fault.rule) for fault in told.value.faults]


@pytest.mark.parametrize(
    ("one", "place", "rule"),
    [
        (7, "", "shape.type"),
        ({"resource": ANSWERED}, "/request", "shape.missing"),
        (entry(search={"mode": "match"}), "/search", "form.place"),
        (entry(response={"status": "200"}), "/response", "form.place"),
        (entry(unheard=1), "/unheard", "shape.unknown_field"),
        (entry(fullUrl="QuestionnaireResponse/1"), "/fullUrl", "bundle.full_url"),
        (entry(fullUrl="urn:uuid:1"), "/fullUrl", "bundle.full_url"),
        (entry("PATCH"), "/request/method", "bundle.method"),
        (entry("DELETE"), "/request/method", "bundle.method"),
        (entry("HEAD"), "/request/method", "bundle.method"),
        (entry(url="QuestionnaireResponse/1"), "/request/url", "bundle.url"),
        (entry(url="QuestionnaireResponse/$screen"), "/request/url", "bundle.url"),
        (entry(url="Observation"), "/request/url", "bundle.url"),
        (entry("PUT"), "/request/url", "bundle.url"),
        (entry("PUT", "QuestionnaireResponse?_id=1"), "/request/url", "bundle.url"),
        (entry(resource={"resourceType": "Flag"}), "/resource/resourceType", "bundle.entry_type"),
        (entry(resource=[]), "/resource", "shape.missing"),
        (entry("GET", "QuestionnaireResponse/1"), "/resource", "form.place"),
        (
            entry("PUT", "Patient/1", resource={"resourceType": "Patient"}),
            "/request/url",
            "bundle.url",
        ),
        ({"request": {"method": "POST", "url": "Patient"}}, "/resource", "shape.missing"),
        ({"request": {"method": "GET", "url": "../x"}}, "/request/url", "bundle.url"),
        ({"request": {"method": "GET", "url": ""}}, "/request/url", "bundle.url"),
        ({"request": {"method": 1, "url": "Patient"}}, "/request/method", "shape.type"),
        (
            {"request": {"method": "GET", "url": AWAY}},
            "/request/url",
            "bundle.url",
        ),
    ],
)
def test_what_an_entry_cannot_ask_for_is_told_in_its_place(one: Any, place: str, rule: str) -> None:
    found = faults(entry(), one)
    assert (f"/Bundle/entry/1{place}", rule) in found
    assert all(path.startswith("/Bundle/entry/1") for path, _ in found)


@pytest.mark.parametrize(
    "one",
    [
        entry(),
        entry("PUT", "QuestionnaireResponse/1"),
        entry("PUT", "QuestionnaireResponse?identifier=a%7Cb"),
        {"request": {"method": "GET", "url": "CarePlan?patient=1&_count=2"}},
        {"request": {"method": "GET", "url": f"{BASE}/metadata"}},
        {"resource": {"resourceType": "Patient"}, "request": {"method": "POST", "url": "Patient"}},
        {
            "resource": {"resourceType": "Patient"},
            "request": {"method": "PUT", "url": "Patient?identifier=a%7Cb"},
        },
    ],
)
def test_what_an_entry_can_ask_for_has_no_fault(one: Any) -> None:
    assert faults(one) == []


def test_a_full_url_that_comes_twice_is_told_at_the_second() -> None:
    found = faults(entry(fullUrl=URN), entry(), entry(), entry(fullUrl=URN))
    assert found == [("/Bundle/entry/3/fullUrl", "bundle.full_url")]
