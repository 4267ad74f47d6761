"""Are plans counted right, and without being made?"""

import pytest

from tests.web.fhir.served import found, get, two_people, withdrawn
from tests.web.world import World


async def test_plans_are_counted_without_being_made(
    running: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, _, other = await two_people(running)
    await withdrawn(running, other)
    mine = f"patient={first['screen']['patient_id']}"
    queries = (
        "", mine, "status=active", "status:not=active", "status=entered-in-error",
        "date=ge2026-03-04", "date=eb2026-01", f"{mine}&_lastUpdated=ge2026-03-04&status=revoked",
        "category=assess-plan", "category=other",
    )  # fmt: skip
    expected = {one: len(await found(running, f"/CarePlan?{one}")) for one in queries}
    assert sorted(set(expected.values())) == [0, 1, 2, 3]

    def made(*_: object) -> None:
        raise AssertionError("A CarePlan was made.")

    monkeypatch.setattr("service.web.fhir.sources.care_plan_of", made)
    for query, number in expected.items():
        for form in ("_count=0", "_summary=count", "_summary=count&_count=5"):
            counted = await get(running, f"/CarePlan?{query}&{form}")
            assert (counted["total"], "entry" in counted) == (number, False), query
