"""Is everything that is registered told, and everything that is told registered?"""

import re
from typing import Any

from service.fhir.search_parameters import PARAMETERS
from service.web.fhir.capability import routes_of
from service.web.fhir.content import PREFIX
from service.web.fhir.routes import ROUTES
from tests.web.fhir.served import get
from tests.web.world import World

ADDRESSES = {
    "read": ("GET", "/{id}"),
    "vread": ("GET", "/{id}/_history/{version}"),
    "history-instance": ("GET", "/{id}/_history"),
    "search-type": ("GET", ""),
    "create": ("POST", ""),
    "update": ("PUT", "/{id}"),
}
# An operation of the type that may be called on an instance as well.
ELSEWHERE = {("POST", "/_search"), ("PUT", "")}


async def resources(running: World) -> dict[str, Any]:
    statement = await get(running, "/metadata")
    return {one["type"]: one for one in statement["rest"][0]["resource"]}


async def test_it_is_open_to_all_and_may_be_held_for_a_while(running: World) -> None:
    response = await running.nobody.get(f"{PREFIX}/metadata")
    assert response.status_code == 200
    assert response.headers["cache-control"] == "public, max-age=60"
    assert response.json()["resourceType"] == "CapabilityStatement"
    again = await running.nobody.get(f"{PREFIX}/metadata")
    assert again.content == response.content


async def test_every_interaction_told_has_its_address_and_every_address_is_told(
    running: World,
) -> None:
    listed = await resources(running)
    told = set()
    for kind, one in listed.items():
        told |= {
            (method, f"/{kind}{path}")
            for code in (each["code"] for each in one.get("interaction", []))
            for method, path in [ADDRESSES[code]]
        }
    typed = {(one.method, one.path) for one in ROUTES if re.match(r"/[A-Z]", one.path)}
    assert told <= typed
    rest = {
        (method, re.sub(r"^/[A-Za-z]+", "", path))
        for method, path in typed - told
        if "$" not in path
    }
    assert rest <= ELSEWHERE
    assert {kind for _, path in typed for kind in [path.split("/")[1]]} == listed.keys()


async def test_every_operation_told_has_its_address(running: World) -> None:
    statement = await get(running, "/metadata")
    rest = statement["rest"][0]
    paths = {one.path for one in ROUTES}
    for one in rest.get("operation", []):
        assert f"/${one['name']}" in paths
    for one in rest["resource"]:
        for operation in one.get("operation", []):
            assert f"/{one['type']}/${operation['name']}" in paths
    called = {path.rpartition("$")[2] for path in paths if "$" in path}
    told = {one["name"] for one in rest.get("operation", [])}
    told |= {each["name"] for one in rest["resource"] for each in one.get("operation", [])}
    assert told == called
    for listed in (rest["operation"], *(one.get("operation", []) for one in rest["resource"])):
        names = [one["name"] for one in listed]
        assert len(names) == len(set(names))
    assert {one["code"] for one in rest["interaction"]} == {"transaction", "batch"}


async def test_every_search_parameter_told_is_taken_and_no_other(running: World) -> None:
    listed = await resources(running)
    values = {"date": "2026", "token": "a", "reference": "x", "string": "a", "uri": "urn:x"}
    for kind in PARAMETERS:
        told = {one["name"]: one["type"] for one in listed[kind]["searchParam"]}
        assert told.keys() == PARAMETERS[kind].keys()
        for name, form in told.items():
            value = "CarePlan/x" if name == "target" else values[form]
            await get(running, f"/{kind}?{name}={value}", prefer="handling=strict")
        for name in {"encounter", "code", "status", "date", "target"} - told.keys():
            await get(running, f"/{kind}?{name}=x", 400, prefer="handling=strict")


async def test_every_include_told_is_taken(running: World) -> None:
    for kind, one in (await resources(running)).items():
        for value in one.get("searchInclude", []):
            await get(running, f"/{kind}?_include={value}")
        for value in one.get("searchRevInclude", []):
            await get(running, f"/{kind}?_revinclude={value}")


async def test_it_says_how_to_come_in_and_which_software_answers(running: World) -> None:
    statement = await get(running, "/metadata")
    assert statement["software"]["version"]
    assert statement["fhirVersion"] == "4.0.1"
    assert "API key" in statement["rest"][0]["security"]["description"]
    assert "LOINC" in statement["copyright"]


async def test_it_is_told_in_part_where_that_is_asked_for(running: World) -> None:
    part = await get(running, "/metadata?_elements=software")
    assert part["meta"]["tag"][0]["code"] == "SUBSETTED"
    assert {"software", "fhirVersion", "format", "kind"} <= part.keys()
    assert "rest" not in part


def test_only_what_lies_below_the_base_counts() -> None:
    routed = [("GET", "/fhir/R4"), ("GET", "/fhir/R4/Patient"), ("GET", "/fhir/R4x"), ("GET", "/")]
    assert routes_of(routed) == {("GET", ""), ("GET", "/Patient")}
