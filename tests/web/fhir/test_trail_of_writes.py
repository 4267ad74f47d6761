"""Does each write over FHIR, alone or in a Bundle, leave exactly what it should in the trail?"""

from typing import Any

import pytest

from service.web.fhir.content import PREFIX
from service.web.fhir.routes import ROUTES, Route
from tests.fhir.responses import json_of
from tests.web.fhir.posted import SENT, response
from tests.web.fhir.test_trail_of_routes import NOTED, WRITES
from tests.web.foreign import Foreign, recorded
from tests.web.test_trail_of_operations import MARK, NOTHING
from tests.web.trail import asked, bodies
from tests.web.world import World


@pytest.fixture
async def held(running: World) -> Foreign:
    return await recorded(running)


@pytest.mark.usefixtures("held")
async def test_a_response_is_noted_as_it_is_created_changed_and_refused(running: World) -> None:
    made = await asked(
        running,
        "POST",
        f"{PREFIX}/QuestionnaireResponse",
        content=json_of(response("H-5")),
        headers=SENT,
    )
    assert made.answer.status_code == 201, made.answer.text
    ((action, outcome, patient),) = made.entries
    assert (action, outcome) == ("screen.record", "ok")
    assert patient is not None
    one = made.answer.json()
    path = f"{PREFIX}/QuestionnaireResponse/{one['id']}"
    changed = {**one, "status": "entered-in-error"}
    followed = ("patient.read", "ok", patient)
    for tag, status, entries in (
        ('W/"7"', 412, [followed, ("screen.withdraw", "StaleVersion", None)]),
        (None, 428, [("screen.correct", "VersionMissing", None)]),
        ('W/"1"', 200, [followed, ("screen.withdraw", "ok", patient)]),
    ):
        headers = SENT if tag is None else {**SENT, "If-Match": tag}
        left = await asked(running, "PUT", path, content=json_of(changed), headers=headers)
        assert (left.answer.status_code, left.entries) == (status, entries), left.answer.text


@pytest.mark.parametrize("route", [one for one in NOTED if (one.method, one.path) in WRITES])
async def test_a_body_that_is_refused_is_noted_without_it(
    running: World, held: Foreign, route: Route
) -> None:
    path = PREFIX + route.path.replace("{id}", held.ids["screen_id"])
    for content, status in (
        (f'{{"resourceType": "{MARK}"'.encode(), (400,)),
        (json_of({"resourceType": "Basic", "id": MARK}), (400, 422)),
        (json_of({**response(MARK), "item": []}), (400, 422)),
    ):
        headers = {**SENT, "If-Match": 'W/"1"'}
        left = await asked(running, route.method, path, content=content, headers=headers)
        assert left.answer.status_code in status, left.answer.text
        assert [entry[0] for entry in left.entries] == [route.deed], left.answer.text
        assert left.entries[0][1] != "ok"
    assert MARK not in str(bodies(running))


async def test_each_entry_of_a_batch_is_noted_by_itself(running: World, held: Foreign) -> None:
    patient, plan = held.ids["patient_id"], held.ids["plan_id"]
    entries = [
        {"request": {"method": "GET", "url": f"CarePlan/{plan}"}},
        {"request": {"method": "GET", "url": f"CarePlan/{NOTHING}"}},
        {"request": {"method": "GET", "url": f"Patient?_id={patient}"}},
        {
            "resource": response("H-6"),
            "request": {"method": "POST", "url": "QuestionnaireResponse"},
        },
        {
            "resource": {**response(MARK), "item": []},
            "request": {"method": "POST", "url": "QuestionnaireResponse"},
        },
    ]
    batch = {"resourceType": "Bundle", "type": "batch", "entry": entries}
    left = await asked(running, "POST", PREFIX, content=json_of(batch), headers=SENT)
    statuses = [one["response"]["status"][:3] for one in left.answer.json()["entry"]]
    assert statuses == ["200", "404", "200", "201", "422"], left.answer.text
    noted = sorted((action, outcome) for action, outcome, _ in left.entries)
    assert noted == [
        ("careplan.read", "not_found"),
        ("careplan.read", "ok"),
        ("patient.search", "ok"),
        ("screen.record", "Refused"),
        ("screen.record", "ok"),
    ]
    assert MARK not in str(bodies(running))


async def test_a_transaction_that_only_reads_reads_once(running: World, held: Foreign) -> None:
    url = f"CarePlan/{held.ids['plan_id']}"
    entries = [{"request": {"method": "GET", "url": url}}]
    bundle = {"resourceType": "Bundle", "type": "transaction", "entry": entries}
    left = await asked(running, "POST", PREFIX, content=json_of(bundle), headers=SENT)
    (read,) = left.answer.json()["entry"]
    assert (read["response"]["status"], read["resource"]["resourceType"]) == ("200 OK", "CarePlan")
    assert [entry[:2] for entry in left.entries] == [("careplan.read", "ok")]


@pytest.mark.usefixtures("held")
async def test_a_transaction_is_noted_write_by_write_or_as_refused(running: World) -> None:
    def bundle(*responses: Any) -> bytes:
        request = {"method": "POST", "url": "QuestionnaireResponse"}
        entries = [{"resource": one, "request": request} for one in responses]
        return json_of({"resourceType": "Bundle", "type": "transaction", "entry": entries})

    good = [response("H-5"), response("H-6")]
    left = await asked(running, "POST", PREFIX, content=bundle(*good), headers=SENT)
    assert left.answer.status_code == 200, left.answer.text
    assert [entry[:2] for entry in left.entries] == [("screen.record", "ok")] * 2
    bad = [response("H-5"), {**response(MARK), "item": []}]
    left = await asked(running, "POST", PREFIX, content=bundle(*bad), headers=SENT)
    assert left.answer.status_code == 422
    assert left.entries == [("batch.post", "Refused", None)]
    assert MARK not in str(bodies(running))


async def test_looking_at_what_is_sent_is_noted_and_at_what_is_kept_as_a_reading(
    running: World, held: Foreign
) -> None:
    sent = json_of({"resourceType": "Patient", "name": [{"family": MARK}]})
    left = await asked(running, "POST", f"{PREFIX}/Patient/$validate", content=sent, headers=SENT)
    assert left.answer.status_code == 200
    assert left.entries == [("patient.validate", "ok", None)]
    plan = held.ids["plan_id"]
    left = await asked(running, "GET", f"{PREFIX}/CarePlan/{plan}/$validate")
    assert left.answer.status_code == 200
    assert left.entries == [("careplan.read", "ok", held.ids["patient_id"])]
    own = json_of({"resourceType": "ValueSet", "status": "draft"})
    left = await asked(running, "POST", f"{PREFIX}/ValueSet/$validate", content=own, headers=SENT)
    assert (left.answer.status_code, left.entries) == (200, [])
    assert MARK not in str(bodies(running))


@pytest.mark.usefixtures("held")
async def test_what_tells_of_nobody_leaves_nothing(running: World) -> None:
    for route in ROUTES:
        if route.deed or route.method != "GET" or "$" in route.path:
            continue
        path = PREFIX + route.path.replace("{id}", MARK)
        left = await asked(running, "GET", path)
        assert left.answer.status_code in (200, 404), path
        assert left.entries == [], path
