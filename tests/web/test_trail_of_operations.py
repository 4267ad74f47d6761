"""Does each operation leave exactly what it should in the audit trail, done or refused?

The operations come from the document's own table. One that is not covered here fails.
"""

import re
from typing import Any

import pytest

from service.web.operation import Operation
from service.web.routes import OPERATIONS
from tests.web.foreign import Foreign, body, recorded
from tests.web.trail import Entries, Left, asked, bodies, nobody_in_particular
from tests.web.world import FHIR, World, screen

NOTHING = "01957a3c-5d30-7c41-9a6b-0c1d2e3f4a5e"
MARK = "Zqx-4711"
"""Sent wherever something can be sent, and nowhere in the trail."""
ABOUT_NOBODY = {"rules", "health", "document"}
"""The tags whose operations touch no patient's data: nothing is noted."""

PATIENT = "the patient"
SENT: dict[str, Any] = {
    "recordScreen": screen("H-7"),
    "previewScreen": screen("H-7"),
    "correctScreen": body() | {"correction_reason": "Wrong hour."},
    "withdrawScreen": {"reason": "Wrong person."},
    "overrulePlan": {
        "move": "bed_to_chair",
        "method": "do_not_move",
        "reason": MARK,
        "by": {"identifier": {"system": "urn:oid:2.999.9", "value": MARK}},
    },
    "lapsePlan": {"trigger": "fall", "note": MARK},
    "findPatient": {"system": "urn:oid:2.999.7", "value": "H-90417"},
}
QUERIES = {
    "screensSince": "?since=2000-01-01T00:00:00Z",
    "auditSince": "?since=2000-01-01T00:00:00Z",
}
DONE: dict[str, Entries] = {
    "recordScreen": [("screen.record", "ok", "another")],
    "previewScreen": [("screen.preview", "ok", None)],
    "screensSince": [("screen.list", "ok", PATIENT)],
    "readScreen": [("screen.read", "ok", PATIENT)],
    "correctScreen": [("screen.correct", "ok", PATIENT)],
    "withdrawScreen": [("screen.withdraw", "ok", PATIENT)],
    "findPatient": [("patient.find", "ok", PATIENT)],
    "readPatient": [("patient.read", "ok", PATIENT)],
    "screensOfPatient": [("screen.list", "ok", PATIENT)],
    "currentPlan": [("patient.read", "ok", PATIENT), ("plan.read", "ok", PATIENT)],
    "plansOfPatient": [("plan.list", "ok", PATIENT)],
    "mergePatients": [("patient.merge", "ok", PATIENT)],
    "readPlan": [("plan.read", "ok", PATIENT)],
    "readPlannedMove": [("plan.read", "ok", PATIENT)],
    "overrulePlan": [("plan.overrule", "ok", PATIENT)],
    "lapsePlan": [("plan.lapse", "ok", PATIENT)],
    "auditSince": [("audit.list", "ok", None)],
}
"""What each leaves when it is done, natively."""
MISSING = {"currentPlan": "patient.read"}
"""What is missed where that is not what was asked for."""
NOTED = [one for one in OPERATIONS if one.tag not in ABOUT_NOBODY]


@pytest.fixture
async def held(running: World) -> Foreign:
    return await recorded(running)


def address(one: Operation, ids: dict[str, str]) -> str:
    known = {"move": "bed_to_chair", **ids}
    return re.sub(r"{(\w+)}", lambda found: known[found[1]], one.path) + QUERIES.get(one.id, "")


def of(entries: Entries, patient: str) -> Entries:
    """What is expected, of this patient."""
    named = {PATIENT: patient}
    return [(action, outcome, named.get(str(whose), whose)) for action, outcome, whose in entries]


async def done(running: World, one: Operation, held: Foreign, into: str = "", **more: Any) -> Left:
    """What asking for it well leaves. ``into``: whom to merge with; else somebody new."""
    sent = dict(more)
    if one.id == "mergePatients":
        into = into or (await running.post(screen("H-8")))["screen"]["patient_id"]
        sent["json"] = {"into": into}
    elif one.id in SENT:
        sent["json"] = SENT[one.id]
    if one.id in ("correctScreen", "overrulePlan"):
        sent["headers"] = {**sent.get("headers", {}), "If-Match": '"1"'}
    return await asked(running, one.method, address(one, held.ids), **sent)


def test_every_operation_says_what_the_trail_calls_it_or_touches_nobody_s_data() -> None:
    assert {one.id for one in NOTED} == DONE.keys()
    for one in OPERATIONS:
        assert bool(one.deed) == (one.tag not in ABOUT_NOBODY), one.id
        assert bool(one.deed) == bool(one.needs), one.id


@pytest.mark.parametrize("one", NOTED, ids=lambda one: one.id)
async def test_what_is_done_leaves_exactly_its_entries(
    running: World, held: Foreign, one: Operation
) -> None:
    left = await done(running, one, held)
    assert left.answer.status_code in (200, 201), left.answer.text
    patient = held.ids["patient_id"]
    if one.id == "recordScreen":
        patient = left.answer.json()["screen"]["patient_id"]
        assert left.entries == [("screen.record", "ok", patient)]
        return
    assert left.entries == of(DONE[one.id], patient)
    if one.method != "GET":
        return
    looked = await asked(running, "HEAD", address(one, held.ids))
    assert (looked.answer.status_code, looked.answer.content) == (200, b"")
    assert looked.entries == left.entries
    tag = left.answer.headers.get("etag")
    if tag is not None:
        again = await asked(running, "GET", address(one, held.ids), headers={"If-None-Match": tag})
        assert again.answer.status_code == 304
        assert again.entries == left.entries


@pytest.mark.parametrize("one", NOTED, ids=lambda one: one.id)
async def test_as_fhir_no_entry_is_missing(running: World, held: Foreign, one: Operation) -> None:
    left = await done(
        running, one, held, headers={**FHIR, "Accept": f"{FHIR['Accept']}, */*;q=0.1"}
    )
    assert left.answer.status_code in (200, 201), left.answer.text
    expected = of(DONE[one.id], held.ids["patient_id"])
    assert [entry[:2] for entry in left.entries] == [entry[:2] for entry in expected]


@pytest.mark.parametrize(
    "one", [one for one in NOTED if "_id}" in one.path], ids=lambda one: one.id
)
async def test_what_is_not_there_is_noted_without_what_was_sent(
    running: World, held: Foreign, one: Operation
) -> None:
    for missing in (NOTHING, MARK):
        nowhere = {**held.ids, **dict.fromkeys(("screen_id", "patient_id", "plan_id"), missing)}
        elsewhere = Foreign(nowhere, {})
        left = await done(running, one, elsewhere)
        assert left.answer.status_code == 404, left.answer.text
        assert left.entries == [(MISSING.get(one.id, one.deed), "not_found", None)]
    assert MARK not in str(bodies(running))


@pytest.mark.parametrize("one", NOTED, ids=lambda one: one.id)
async def test_without_its_scope_it_is_noted_which_one_was_missing(
    running: World, held: Foreign, one: Operation
) -> None:
    async with nobody_in_particular(running) as client:
        left = await done(running, one, held, client=client)
        assert left.answer.status_code == 403
        scope = " ".join(f"system/{need}" for need in one.needs)
        assert left.entries == [("scope.refuse", f"lacks {scope}", None)]


@pytest.mark.parametrize("one", NOTED, ids=lambda one: one.id)
async def test_what_cannot_be_asked_is_noted_without_what_was_sent(
    running: World, held: Foreign, one: Operation
) -> None:
    """A parameter that means nothing; a form that is not spoken."""
    address_of_it = address(one, held.ids)
    strange = f"{address_of_it}{'&' if '?' in address_of_it else '?'}{MARK}={MARK}"
    left = await asked(running, one.method, strange, json=SENT.get(one.id))
    assert left.answer.status_code == 400, left.answer.text
    assert left.entries == [(one.deed, "BadRequest", None)]
    left = await asked(running, one.method, address_of_it, headers={"Accept": "image/png"})
    assert left.answer.status_code == 406
    assert left.entries == [(one.deed, "NotAcceptable", None)]
    assert MARK not in str(bodies(running))


FAULTY: dict[str, tuple[int, str, Any]] = {
    "no JSON": (400, "Unreadable", f'{{"patient": "{MARK}"'.encode()),
    "no screen": (422, "Refused", f'{{"patient": "{MARK}"}}'.encode()),
}


@pytest.mark.parametrize("fault", FAULTY)
@pytest.mark.parametrize("one", [one for one in NOTED if one.body], ids=lambda one: one.id)
async def test_a_body_that_is_refused_is_noted_without_it(
    running: World, held: Foreign, one: Operation, fault: str
) -> None:
    status, outcome, content = FAULTY[fault]
    headers = {"Content-Type": "application/json", "If-Match": '"1"'}
    left = await asked(
        running, one.method, address(one, held.ids), content=content, headers=headers
    )
    assert left.answer.status_code == status, left.answer.text
    assert left.entries == [(one.deed, outcome, None)]
    headers["Content-Type"] = "text/plain"
    left = await asked(
        running, one.method, address(one, held.ids), content=content, headers=headers
    )
    assert left.answer.status_code == 415
    assert left.entries == [(one.deed, "Unsupported", None)]
    assert MARK not in str(bodies(running))


async def test_a_screen_without_sense_is_noted_as_refused(running: World) -> None:
    mad = screen(MARK)
    mad["stages"]["timed_stand"] = {"seconds": 5000, "ended_by": "fatigue"}
    mad["observed_at"] = "2036-03-04T08:15:00+00:00"
    for path, deed in (("/v1/screens", "screen.record"), ("/v1/screens/preview", "screen.preview")):
        left = await asked(running, "POST", path, json=mad)
        assert left.answer.status_code == 422, left.answer.text
        assert left.entries == [(deed, "Refused", None)]
    assert MARK not in str(bodies(running))
