"""What do careless or hostile senders send, and what is to be said to them?"""

import json
from collections.abc import Callable
from typing import Any

from msgspec import Struct

from tests.clients.driver import Document
from tests.clients.ward import PERSONS, answers_of, item_of, new_person, transaction

SENT = "application/fhir+json"
RESPONSE = "QuestionnaireResponse"
ELSEWHERE = "https://elsewhere.example"
UUID = "urn:uuid:00000000-0000-4000-8000-"
SUBSETTED = {"system": "http://terminology.hl7.org/CodeSystem/v3-ObservationValue",
             "code": "SUBSETTED"}  # fmt: skip
Body = Callable[[], Any]


class Bad(Struct, frozen=True, kw_only=True):
    """A request and its answer: ``status``, the ``code`` of its first issue and, where one
    element is at fault, ``at``: its FHIRPath."""

    method: str = "POST"
    path: str = RESPONSE
    body: Body | None = None
    headers: dict[str, str] = {}
    status: int = 422
    code: str
    at: str | None = None

    def content(self) -> bytes | None:
        body = None if self.body is None else self.body()
        return body if isinstance(body, bytes | None) else json.dumps(body).encode()


def response(**more: Any) -> Document:
    return answers_of(new_person(), **more)


def changed(link: str, *, answers: list[Document] | None = None, **value: Any) -> Body:
    """A response with other answers at ``link``, or other parts of its Quantity or Coding."""

    def made() -> Document:
        raw = response()
        item = item_of(raw, link)
        if answers is not None:
            item["answer"] = answers
        else:
            next(iter(item["answer"][0].values())).update(value)
        return raw

    return made


def with_more_items(*items: Document) -> Body:
    def made() -> Document:
        raw = response()
        raw["item"].extend(items)
        return raw

    return made


def without_person(reference: str) -> Document:
    """A response that leaves it to ``reference`` to say who the person is."""
    raw = response(subject={"reference": reference})
    raw["item"] = [item for item in raw["item"] if item["linkId"] != "patient"]
    return raw


def person() -> Document:
    return {
        "resourceType": "Patient",
        "identifier": [{"system": PERSONS, "value": new_person()}],
    }


def bundle(*resources: Document) -> Document:
    """A transaction that posts each."""
    return transaction(*[("POST", one["resourceType"], one) for one in resources])


def twice_named() -> Document:
    sent = bundle(response(), response())
    sent["entry"][1]["fullUrl"] = sent["entry"][0]["fullUrl"]
    return sent


def asked(method: str, url: str) -> Body:
    entry = {"request": {"method": method, "url": url}}
    return lambda: {"resourceType": "Bundle", "type": "transaction", "entry": [entry]}


def with_a_read(url: str) -> Body:
    entries = [*bundle(response())["entry"], *asked("GET", url)()["entry"]]
    return lambda: {**bundle(), "entry": entries}


def written(old: bytes, new: bytes) -> Body:
    return lambda: json.dumps(response()).encode().replace(old, new, 1)


def half() -> bytes:
    return json.dumps(response()).encode()[:200]


def typed(media_type: str) -> dict[str, str]:
    return {"Content-Type": media_type}


FORMS: dict[str, Bad] = {
    "XML": Bad(body=lambda: b"<a/>", headers=typed("application/fhir+xml"), status=415,
               code="not-supported"),
    "XML said to be JSON": Bad(body=lambda: b"<a/>", status=400, code="structure"),
    "another release": Bad(body=response, headers=typed(f"{SENT}; fhirVersion=3.0"), status=415,
                           code="not-supported"),
    "another charset": Bad(body=response, headers=typed(f"{SENT}; charset=latin1"), status=415,
                           code="not-supported"),
    "a patch": Bad(method="PATCH", path="CarePlan/a", body=list, status=405,
                   code="not-supported"),
    "a deletion": Bad(method="DELETE", path="CarePlan/a", status=405, code="not-supported"),
    "an answer in XML": Bad(method="GET", path="CarePlan?_format=xml", status=406,
                            code="not-supported", at="http._format"),
    "an answer of another release": Bad(method="GET", path="CarePlan", status=406,
                                        headers={"Accept": f"{SENT}; fhirVersion=5.0"},
                                        code="not-supported"),
    "nothing": Bad(body=lambda: b"", status=400, code="structure"),
    "half of it": Bad(body=half, status=400,
                      code="structure"),
    "a number that is none": Bad(body=written(b"71.5", b"NaN"), status=400, code="structure"),
    "a key twice": Bad(body=written(b'"status"', b'"status":"completed","status"'), status=400,
                       code="structure", at="status"),
    "another encoding": Bad(body=written(b"completed", b"compl\xe9ted"), status=400,
                            code="structure"),
    "half a character": Bad(body=written(b"completed", b"\\ud800"), status=400, code="structure"),
    "a byte order mark": Bad(body=written(b"{", b"\xef\xbb\xbf{"), status=400, code="structure"),
    "endless depth": Bad(body=lambda: b"[" * 5_000 + b"]" * 5_000, status=400, code="structure"),
    "too much": Bad(body=lambda: b'"' + b"a" * 11_000_000 + b'"', status=413, code="too-long"),
    "a list": Bad(body=list, code="not-supported", at=f"{RESPONSE}.resourceType"),
    "no such type": Bad(path="Nonsense", body=response, status=404, code="not-found"),
    "what is not written here": Bad(path="Observation", body=response, status=405,
                                    code="not-supported"),
    "a parameter beside it": Bad(path=f"{RESPONSE}?nonsense=1", body=response, status=400,
                                 code="not-supported", at="http.nonsense"),
    "a query with a name": Bad(method="GET", path="CarePlan?_query=current", status=400,
                               code="not-supported", at="http._query"),
    "a search for no date": Bad(method="GET", path="CarePlan?date=2026-02-30", status=400,
                                code="value", at="http.date"),
    "a search that is not known, strictly": Bad(
        method="GET", path="CarePlan?nonsense=1", headers={"Prefer": "handling=strict"},
        status=400, code="not-supported", at="http.nonsense"),
    "an update without a version": Bad(
        method="PUT", path=f"{RESPONSE}/a", body=lambda: response(id="a"), status=428,
        code="required"),
    "an update of what is not there": Bad(
        method="PUT", path=f"{RESPONSE}/a", body=lambda: response(id="a"), status=405,
        headers={"If-Match": 'W/"1"'}, code="not-supported"),
}  # fmt: skip
RESPONSES: dict[str, Bad] = {
    "another type": Bad(body=person, code="not-supported", at=f"{RESPONSE}.resourceType"),
    "no status": Bad(body=lambda: {**response(), "status": None}, code="value",
                     at=f"{RESPONSE}.status"),
    "still being done": Bad(body=lambda: response() | {"status": "in-progress"},
                            code="business-rule", at=f"{RESPONSE}.status"),
    "another form": Bad(body=lambda: response() | {"questionnaire": f"{ELSEWHERE}/a"},
                        code="not-supported", at=f"{RESPONSE}.questionnaire"),
    "a profile nobody knows": Bad(
        body=lambda: response(meta={"profile": [f"{ELSEWHERE}/StructureDefinition/a"]}),
        code="not-supported", at=f"{RESPONSE}.meta.profile[0]"),
    "two patients": Bad(
        body=lambda: response(subject={"identifier": {"system": PERSONS, "value": "B-2"}}),
        code="business-rule", at=f"{RESPONSE}.subject.identifier"),
    "an element nobody knows": Bad(body=lambda: response(unheardOf=1), code="structure",
                                   at=f"{RESPONSE}.unheardOf"),
    "a modifier": Bad(
        body=lambda: response(modifierExtension=[{"url": "urn:a", "valueBoolean": True}]),
        code="extension", at=f"{RESPONSE}.modifierExtension"),
    "rules of its own": Bad(body=lambda: response(implicitRules=ELSEWHERE), code="not-supported",
                            at=f"{RESPONSE}.implicitRules"),
    "30 February": Bad(body=lambda: response() | {"authored": "2026-02-30T08:00:00Z"},
                       code="value", at=f"{RESPONSE}.authored"),
    "a question nobody asked": Bad(body=with_more_items({"linkId": "a"}), code="structure",
                                   at=f"{RESPONSE}.item[5].linkId"),
    "two answers to one question": Bad(
        body=changed("readiness.rass", answers=[{"valueInteger": 0}, {"valueInteger": 1}]),
        code="structure", at=f"{RESPONSE}.item[3].item[0].answer[1]"),
    "an answer of another type": Bad(
        body=changed("readiness.rass", answers=[{"valueString": "0"}]), code="structure",
        at=f"{RESPONSE}.item[3].item[0].answer[0].valueString"),
    "a number as a text": Bad(
        body=changed("patient.mass_kg", value="71.5"), code="value",
        at=f"{RESPONSE}.item[0].item[2].answer[0].valueQuantity.value"),
    "pounds": Bad(body=changed("patient.mass_kg", code="[lb_av]"), code="code-invalid",
                  at=f"{RESPONSE}.item[0].item[2].answer[0].valueQuantity.code"),
    "a code of nobody": Bad(body=changed("orders.precautions", code="a"), code="code-invalid",
                            at=f"{RESPONSE}.item[2].item[0].answer[0].valueCoding.code"),
    "a code of others": Bad(body=changed("orders.precautions", system="urn:a"),
                            code="code-invalid",
                            at=f"{RESPONSE}.item[2].item[0].answer[0].valueCoding.system"),
    "a grade that is none": Bad(
        body=changed("readiness.rass", answers=[{"valueInteger": 9}]), code="value",
        at=f"{RESPONSE}.item[3].item[0].answer[0]"),
}  # fmt: skip
BUNDLES: dict[str, Bad] = {
    "a dangling reference": Bad(
        path="", body=lambda: bundle(response(), without_person(f"{UUID}00000000dead")),
        code="not-found", at="Bundle.entry[1].resource.subject.reference"),
    "one name for two": Bad(path="", body=twice_named, code="structure",
                            at="Bundle.entry[1].fullUrl"),
    "another type": Bad(
        path="",
        body=lambda: bundle(response(), {"resourceType": "Observation", "status": "final"}),
        code="not-supported", at="Bundle.entry[1].resource.resourceType"),
    "two patients for one": Bad(
        path="", body=lambda: bundle(person(), person(), without_person(f"{UUID}000000000001")),
        code="business-rule", at="Bundle.entry[1]"),
    "a patient and another in the items": Bad(
        path="",
        body=lambda: bundle(person(), response(subject={"reference": f"{UUID}000000000001"})),
        code="business-rule", at="Bundle.entry[1].resource.subject"),
    "ten thousand entries": Bad(path="", body=lambda: bundle(*[person()] * 10_000),
                                code="too-costly", at="Bundle.entry"),
    "a profile nobody knows": Bad(
        path="",
        body=lambda: bundle(response(), response(meta={"profile": [f"{ELSEWHERE}/a"]})),
        code="not-supported", at="Bundle.entry[1].resource.meta.profile[0]"),
    "a fault in the last": Bad(
        path="",
        body=lambda: bundle(response(), changed("patient.mass_kg", code="[lb_av]")()),
        code="code-invalid",
        at="Bundle.entry[1].resource.item[0].item[2].answer[0].valueQuantity.code"),
    "a read of what is not there": Bad(path="", body=with_a_read("CarePlan/a"), status=404,
                                       code="not-found", at="Bundle.entry[1].request.url"),
    "a part of a response": Bad(
        path="", body=lambda: bundle(response(meta={"tag": [SUBSETTED]})), code="structure",
        at="Bundle.entry[0].resource.meta.tag[0]"),
    "a deletion": Bad(path="", body=asked("DELETE", "CarePlan/a"), code="not-supported",
                      at="Bundle.entry[0].request.method"),
    "neither transaction nor batch": Bad(
        path="", body=lambda: bundle(response()) | {"type": "collection"}, code="not-supported",
        at="Bundle.type"),
    "no Bundle": Bad(path="", body=response, code="not-supported", at="Bundle.resourceType"),
}  # fmt: skip
EVERY = {
    f"{room}: {name}": bad
    for room, table in (("form", FORMS), ("response", RESPONSES), ("Bundle", BUNDLES))
    for name, bad in table.items()
}
