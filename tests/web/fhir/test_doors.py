"""Is every guarded FHIR address shut without a credential, and without its scope?"""

import re

from service.storage.keys import create_key, list_keys
from service.web.fhir.content import PREFIX
from service.web.fhir.routes import ROUTES
from service.web.routes import OPERATIONS
from tests.web.world import World, client_of

OUTCOME = "OperationOutcome"
OPEN = {
    "/health/live",
    "/health/ready",
    "/health/startup",
    "/metrics",
    "/openapi.json",
    "/docs",
    "/docs/{name}",
    "/metadata",
    "/.well-known/smart-configuration",
}
"""Whoever opens another address says so here. The numbers ask for a token of their own."""


async def test_without_a_credential_every_guarded_route_answers_401(running: World) -> None:
    for route in ROUTES:
        if route.open:
            continue
        path = PREFIX + re.sub(r"{\w+}", "x", route.path)
        refused = await running.nobody.request(route.method, path)
        assert refused.status_code == 401, f"{route.method} {route.path}"
        assert refused.json()["resourceType"] == OUTCOME


async def test_without_its_scope_a_route_answers_403_and_names_it(running: World) -> None:
    (ward,) = [one for one in list_keys(running.database) if one.name == "ward"]
    scopes = ["system/ImmunizationEvaluation.cruds"]
    made = create_key(running.database, running.clock, ward.org, "narrow", scopes=scopes)
    async with client_of(running.app, made.key) as client:
        for route in ROUTES:
            if not route.needs:
                continue
            path = PREFIX + re.sub(r"{\w+}", "x", route.path)
            refused = await client.request(route.method, path)
            assert refused.status_code == 403, f"{route.method} {route.path}"
            scope = " ".join(f"system/{need}" for need in route.needs)
            assert f'scope="{scope}"' in refused.headers["www-authenticate"]


async def test_no_address_is_outside_the_two_tables(running: World) -> None:
    """What is in neither could be without a guard, and no test above would ask it."""
    routes = running.app._router.routes  # type: ignore[attr-defined]
    served = {(method, one.path_format) for one in routes for method in one.methods}
    listed = {(one.method, one.path) for one in OPERATIONS}
    listed |= {(one.method, PREFIX + one.path) for one in ROUTES}
    served = {(method, path) for method, path in served if method not in ("OPTIONS", "HEAD")}
    assert served == listed
    open_to_all = {one.path for one in OPERATIONS if one.open}
    open_to_all |= {one.path for one in ROUTES if one.open}
    assert open_to_all == OPEN


async def test_the_capability_statement_tells_of_every_type_that_is_served(
    running: World,
) -> None:
    told = (await running.nobody.get(f"{PREFIX}/metadata")).json()
    types = {one["type"] for one in told["rest"][0]["resource"]}
    served = {one.path.strip("/").split("/")[0] for one in ROUTES}
    assert types == {kind for kind in served if kind[:1].isupper()}
    assert told["rest"][0]["security"]["cors"] is False
