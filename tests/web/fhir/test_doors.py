"""Is every guarded FHIR address shut without a credential, and without its scope?"""

import re

from service.storage.keys import create_key, list_keys
from service.web.fhir.content import PREFIX
from service.web.fhir.routes import ROUTES
from tests.web.world import World, client_of

OUTCOME = "OperationOutcome"


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
