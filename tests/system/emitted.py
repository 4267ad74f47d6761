"""What does the running service send out over FHIR? Every address walked, in every state.

Walked in one process, so that the clock can be moved: `tests/clients` looks at a real server.
"""

import json
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx

from service.demo.scenario import Sample, read
from service.domain.move import Move
from service.rules.load import load_book
from service.rules.overrule import methods_for
from tests.clients.ward import amended, answers_of
from tests.house.tree import ROOT
from tests.web.world import FHIR, World, world

BASE = "/fhir/R4"
BOOK = load_book()
SAMPLES = read(ROOT / "samples")
NONE = "00000000-0000-4000-8000-00000000dead"
MANY, EVERY = ("Observation", "AuditEvent"), 20
"""Of these, every so many is looked at by all its addresses; of all else, each is."""
Document = dict[str, Any]


class Emitted:
    """The bodies that were sent, by what asked for them; ``lacking``: answers of another form."""

    def __init__(self, running: World) -> None:
        self.running = running
        self.bodies: dict[str, bytes] = {}
        self.lacking: list[str] = []

    async def ask(
        self, method: str, path: str, status: int = 200, body: Any = None, **headers: str
    ) -> Document:
        """One request, its body remembered."""
        more = {name.replace("_", "-"): value for name, value in headers.items()}
        content = body if isinstance(body, bytes | None) else json.dumps(body).encode()
        if content is not None:
            more = {"Content-Type": "application/fhir+json", **more}
        answer = await self.running.client.request(
            method, path, content=content, headers={**FHIR, **more}
        )
        self._remember(f"{len(self.bodies)} {method} {path}", answer, status)
        document: Document = answer.json()
        return document

    async def get(self, path: str, status: int = 200, **headers: str) -> Document:
        return await self.ask("GET", f"{BASE}/{path}", status, **headers)

    def _remember(self, asked: str, answer: httpx.Response, status: int) -> None:
        form = answer.headers.get("content-type", "")
        if answer.status_code != status or not form.startswith("application/fhir+json"):
            self.lacking.append(f"{asked}: {answer.status_code} {form} {answer.text[:300]}")
        self.bodies[asked] = answer.content


async def emitted(folder: Path) -> Emitted:
    async with world(folder) as running:
        found = Emitted(running)
        await _live(found)
        metadata = await found.get("metadata")
        for told in metadata["rest"][0]["resource"]:
            if {"code": "search-type"} in told.get("interaction", ()):
                await _walk(found, told)
        await _refused(found)
        return found


async def _live(found: Emitted) -> None:
    """Screens in every state: current, superseded, corrected, withdrawn, merged, lapsed; plans
    overruled, with that taken back, and ended early."""
    screens = {sample.number: await _post(found, sample) for sample in SAMPLES}
    await found.ask("POST", "/v1/screens/preview", 200, SAMPLES[0].request.encode(), **_NATIVE)
    corrected = {**json.loads(SAMPLES[1].request), "correction_reason": "Wrong leg."}
    corrected["readiness"]["rass"] = 1
    await found.ask(
        "PUT", f"/v1/screens/{screens[2]['id']}", 200, corrected, If_Match='"1"', **_NATIVE
    )
    for number in (3, 19):
        path = f"/v1/screens/{screens[number]['id']}/withdraw"
        await found.ask("POST", path, 200, {"reason": "Wrong person."}, **_NATIVE)
    patients = [screens[number]["subject"]["reference"].partition("/")[2] for number in (4, 5)]
    merged = await found.running.client.post(
        f"/v1/patients/{patients[0]}/merge", json={"into": patients[1]}
    )
    assert merged.status_code == 200, merged.text
    await _change(found, [screens[number]["id"] for number in (6, 7, 8)])
    await _write(found)
    found.running.clock.pass_time(timedelta(days=40))
    await _post(found, SAMPLES[0], late=True)


_NATIVE = {"Content_Type": "application/json"}


async def _post(found: Emitted, sample: Sample, *, late: bool = False) -> Document:
    """The QuestionnaireResponse in the answer to a sample."""
    body = json.loads(sample.request)
    if late:
        body["source_id"] = "late"
    bundle = await found.ask("POST", "/v1/screens", 201, body, **_NATIVE)
    (kept,) = (
        entry["resource"]
        for entry in bundle["entry"]
        if entry["resource"]["resourceType"] == "QuestionnaireResponse"
    )
    return dict(kept)


async def _change(found: Emitted, screens: list[str]) -> None:
    """Every plan is overruled, the second one ended early then, the third as computed again."""
    answers = [await found.running.client.get(f"/v1/screens/{one}") for one in screens]
    plans = [one.json()["plan"] for one in answers]
    for plan in plans:
        await _choose(found, plan, 1, _other(plan["moves"][0]))
    await _choose(found, plans[2], 2, plans[2]["moves"][0]["method"])
    end, trigger = f"/v1/plans/{plans[1]['id']}/lapse", {"trigger": "fall"}
    await found.ask("POST", end, 200, trigger, **_NATIVE)


async def _choose(found: Emitted, plan: Document, version: int, method: str) -> None:
    clinician = {"identifier": {"system": "urn:oid:2.999.9", "value": "S-77"}}
    move = plan["moves"][0]["move"]
    body = {"move": move, "method": method, "reason": "Saw it today.", "by": clinician}
    path, held = f"/v1/plans/{plan['id']}/overrule", f'"{version}"'
    await found.ask("POST", path, 200, body, If_Match=held, **_NATIVE)


def _other(move: Document) -> str:
    """The least supported method that serves the move and is not the one that it has."""
    serve = methods_for(BOOK, Move(move["move"]))
    return next(one for one in serve if one != move["method"])


def response(person: str) -> Document:
    return answers_of(person, "2026-03-04T08:15:00+00:00")


async def _write(found: Emitted) -> None:
    """What comes in over FHIR, and what answers it."""
    responses = f"{BASE}/QuestionnaireResponse"
    made = await found.ask("POST", responses, 201, response("E-1"))
    change = amended(made)
    again = await found.ask("PUT", f"{responses}/{made['id']}", 200, change, If_Match='W/"1"')
    error = {**again, "status": "entered-in-error"}
    await found.ask("PUT", f"{responses}/{made['id']}", 200, error, If_Match='W/"2"')
    await found.ask("POST", responses, 201, response("E-2"), Prefer="return=OperationOutcome")
    await found.ask("POST", f"{BASE}/$screen", 200, response("E-3"))
    for kind in ("transaction", "batch"):
        entry: Document = {
            "fullUrl": "urn:uuid:8a1c1c1e-2a3b-4c4d-9e8f-000000000001",
            "resource": response(f"E-{kind}"),
            "request": {"method": "POST", "url": "QuestionnaireResponse"},
        }
        bad = {**entry, "fullUrl": entry["fullUrl"][:-1] + "2", "resource": {"resourceType": "x"}}
        entries = [entry] if kind == "transaction" else [entry, bad]
        sent = {"resourceType": "Bundle", "type": kind, "entry": entries}
        await found.ask("POST", BASE, 200, sent)
    await found.ask("POST", f"{responses}/$validate", 200, made)
    await found.ask("POST", f"{responses}/$validate", 200, {**made, "status": "done"})


async def _walk(found: Emitted, told: Document) -> None:
    """Every page of a type, and each resource by every address that it is served at."""
    kind, does = told["type"], {one["code"] for one in told["interaction"]}
    path: str | None = f"{BASE}/{kind}?_count=100"
    number = 0
    while path is not None:
        page = await found.ask("GET", path)
        for entry in page.get("entry", ()):
            number += 1
            if kind not in MANY or number % EVERY == 1:
                await _one(found, f"{kind}/{entry['resource']['id']}", does)
        path = next((one["url"] for one in page["link"] if one["relation"] == "next"), None)
    await found.get(f"{kind}?_summary=count")
    await found.get(f"{kind}?_id={NONE}")
    for included in told.get("searchInclude", ()):
        await found.get(f"{kind}?_include={included}&_count=2")
    for included in told.get("searchRevInclude", ()):
        await found.get(f"{kind}?_revinclude={included}&_count=2")


async def _one(found: Emitted, address: str, does: set[str]) -> None:
    read = await found.get(address)
    if "vread" in does:
        await found.get(f"{address}/_history/{read['meta']['versionId']}")
    if "history-instance" in does:
        await found.get(f"{address}/_history")


async def _refused(found: Emitted) -> None:
    """One answer for each kind of refusal."""
    await found.get(f"CarePlan/{NONE}", 404)
    await found.get("Nonsense", 404)
    await found.get("CarePlan?_format=xml", 406)
    await found.get("CarePlan?date=yesterday", 400)
    await found.get("CarePlan?nonsense=1", 400, Prefer="handling=strict")
    responses = f"{BASE}/QuestionnaireResponse"
    await found.ask("DELETE", f"{BASE}/CarePlan/{NONE}", 405)
    await found.ask("POST", responses, 400, b"{")
    await found.ask("POST", responses, 415, b"<a/>", Content_Type="application/fhir+xml")
    await found.ask("POST", responses, 422, {"resourceType": "Patient"})
    await found.ask("POST", responses, 422, {**response("E-4"), "status": "in-progress"})
    await found.ask(
        "PUT", f"{responses}/{NONE}", 405, {**response("E-4"), "id": NONE}, If_Match='W/"1"'
    )
    await found.ask("GET", f"{BASE}/CarePlan", 401, Authorization="Bearer none")


def resources_in(body: bytes) -> Iterator[Document]:
    """Every resource in a body: those of a Bundle first, then the Bundle with stubs for them."""
    document: Document = json.loads(body)
    if document["resourceType"] != "Bundle":
        yield document
        return
    entries = []
    for entry in document.get("entry", ()):
        stubbed = dict(entry)
        if "resource" in entry:
            yield entry["resource"]
            stubbed["resource"] = stub_of(entry["resource"])
        entries.append(stubbed)
    yield {**document, "entry": entries} if entries else document


def stub_of(resource: Document) -> Document:
    """What a Bundle asks of its entries: which resource it is, and which version of it."""
    return {name: resource[name] for name in ("resourceType", "id", "meta") if name in resource}
