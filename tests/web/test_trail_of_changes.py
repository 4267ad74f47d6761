"""Is a change that is not done noted by what stood in its way?"""

from typing import Any

import pytest

from tests.web.foreign import Foreign, recorded
from tests.web.test_trail_of_operations import MARK, SENT
from tests.web.trail import asked, bodies
from tests.web.world import World, screen


@pytest.fixture
async def held(running: World) -> Foreign:
    return await recorded(running)


async def test_a_change_of_another_version_is_noted(running: World, held: Foreign) -> None:
    one = f"/v1/screens/{held.ids['screen_id']}"
    sent = SENT["correctScreen"]
    for tag, status, outcome in (('"7"', 412, "StaleVersion"), ("7", 400, "BadRequest")):
        left = await asked(running, "PUT", one, json=sent, headers={"If-Match": tag})
        assert left.answer.status_code == status
        assert left.entries == [("screen.correct", outcome, None)]
    left = await asked(running, "PUT", one, json=sent)
    assert left.answer.status_code == 428
    assert left.entries == [("screen.correct", "VersionMissing", None)]
    left = await asked(
        running, "POST", f"{one}/withdraw", json=SENT["withdrawScreen"], headers={"If-Match": '"7"'}
    )
    assert left.answer.status_code == 412
    assert left.entries == [("screen.withdraw", "StaleVersion", None)]


async def test_a_repeated_write_is_noted_as_such(running: World) -> None:
    sent: dict[str, Any] = {"json": screen("H-3"), "headers": {"Idempotency-Key": "once"}}
    first = await asked(running, "POST", "/v1/screens", **sent)
    again = await asked(running, "POST", "/v1/screens", **sent)
    assert [entry[:2] for entry in first.entries] == [("screen.record", "ok")]
    assert [entry[:2] for entry in again.entries] == [("screen.record", "replayed")]
    other: dict[str, Any] = {**sent, "json": screen("H-4")}
    left = await asked(running, "POST", "/v1/screens", **other)
    assert left.answer.status_code == 422
    assert [entry[:2] for entry in left.entries] == [("screen.record", "KeyReused")]


async def test_a_merge_names_no_id_that_was_made_up(running: World, held: Foreign) -> None:
    path = f"/v1/patients/{held.ids['patient_id']}/merge"
    left = await asked(running, "POST", path, json={"into": MARK})
    assert left.answer.status_code == 404
    assert left.entries == [("patient.merge", "not_found", None)]
    left = await asked(running, "POST", path, json={"into": held.ids["patient_id"]})
    assert left.answer.status_code == 422
    assert left.entries == [("patient.merge", "Refused", None)]
    assert MARK not in str(bodies(running))


async def test_a_move_that_a_plan_does_not_answer_is_noted_beside_the_reading(
    running: World, held: Foreign
) -> None:
    plan = f"/v1/plans/{held.ids['plan_id']}/moves"
    left = await asked(running, "GET", f"{plan}/{MARK}")
    assert left.answer.status_code == 404
    assert left.entries == [("plan.read", "not_found", None)]
    assert MARK not in str(bodies(running))


async def test_nothing_of_the_person_stands_in_the_trail(running: World, held: Foreign) -> None:
    trail = str(bodies(running))
    values = set(held.marks()) - {*held.ids.values()}
    for kind in held.resources:
        values -= set(held.ids_of(kind))
    assert len(values) == 4
    assert {value for value in values if value in trail} == set()
    assert held.ids["patient_id"] in trail
