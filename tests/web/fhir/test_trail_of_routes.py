"""Does each FHIR route leave exactly what it should in the audit trail, done or refused?

The routes come from the table that the router and the CapabilityStatement read. One that is not
covered here fails.
"""

from typing import Any

import pytest

from service.fhir.software import device_id
from service.web.fhir.content import PREFIX
from service.web.fhir.definitions import read_definition, search_definitions
from service.web.fhir.instances import FIND
from service.web.fhir.routes import ROUTES, Route
from service.web.fhir.validate import validate_instance, validate_type
from tests.fhir.answers import BOOK
from tests.web.fhir.posted import SENT
from tests.web.fhir.served import FORM
from tests.web.foreign import Foreign, recorded
from tests.web.test_trail_of_operations import MARK, NOTHING
from tests.web.trail import Entries, asked, bodies, nobody_in_particular
from tests.web.world import World

ABOUT_NOBODY = {
    "ActivityDefinition",
    "CapabilityStatement",
    "CodeSystem",
    "ConceptMap",
    "ImplementationGuide",
    "OperationDefinition",
    "PlanDefinition",
    "Questionnaire",
    "SearchParameter",
    "StructureDefinition",
    "ValueSet",
}
"""Types that tell of nobody, whoever looks at them."""
OF_NOBODY = ("Device",)
SHAPES = {
    ("GET", "/{id}"): "read",
    ("GET", "/{id}/_history"): "history",
    ("GET", "/{id}/_history/{version}"): "vread",
    ("GET", ""): "search",
    ("POST", "/_search"): "search",
    ("GET", "/{id}/$validate"): "read",
    ("POST", "/{id}/$validate"): "read",
    ("POST", "/$validate"): "validate",
}
WRITES: dict[tuple[str, str], str] = {
    ("POST", ""): "batch.post",
    ("POST", "/$screen"): "screen.record",
    ("POST", "/QuestionnaireResponse"): "screen.record",
    ("POST", "/QuestionnaireResponse/$screen"): "screen.record",
    ("PUT", "/QuestionnaireResponse"): "screen.correct",
    ("PUT", "/QuestionnaireResponse/{id}"): "screen.correct",
}


def kind_of(route: Route) -> str:
    return route.path.strip("/").split("/")[0]


def shape_of(route: Route) -> str:
    return route.path.removeprefix(f"/{kind_of(route)}")


NOTED = [one for one in ROUTES if one.deed]
READS = [
    one for one in NOTED if kind_of(one) in FIND and "$" not in one.path and one.method != "PUT"
]
READS = [one for one in READS if (one.method, one.path) not in WRITES]
ON_ONE = [one for one in READS if "{id}" in one.path]
SEARCHES = [one for one in READS if "{id}" not in one.path]


@pytest.fixture
async def held(running: World) -> Foreign:
    return await recorded(running)


def path_of(route: Route, held: Foreign, version: str | None = None) -> str:
    kind = kind_of(route)
    device: dict[str, Any] = {"id": device_id(BOOK.ref)}
    one = device if kind == "Device" else held.resources[kind][0]
    known = str(one.get("meta", {}).get("versionId", "1"))
    path = route.path.replace("{id}", one["id"]).replace("{version}", version or known)
    return PREFIX + path


def expected(route: Route, held: Foreign) -> Entries:
    patient = None if kind_of(route) in OF_NOBODY else held.ids["patient_id"]
    return [(route.deed, "ok", patient)]


def test_every_route_says_what_the_trail_calls_it_or_tells_of_nobody() -> None:
    for route in ROUTES:
        kind, place = kind_of(route), (route.method, route.path)
        if route.open or kind in ABOUT_NOBODY:
            assert route.deed == "", place
            assert route.open or route.handler in (
                read_definition,
                search_definitions,
                validate_type,
                validate_instance,
            ), place
        elif place in WRITES:
            assert route.deed == WRITES[place], place
        else:
            what = SHAPES[route.method, shape_of(route)]
            told = "validate" if "$validate" in route.path else what
            assert route.deed == f"{kind.lower()}.{told}", place
    assert {kind_of(one) for one in ON_ONE} == FIND.keys()
    assert len(ON_ONE) == 3 * len(FIND)
    assert len(SEARCHES) == 2 * len(FIND)


async def test_a_reading_leaves_its_entries_and_so_do_head_and_304(
    running: World, held: Foreign
) -> None:
    for route in ON_ONE:
        path = path_of(route, held)
        left = await asked(running, "GET", path)
        assert left.answer.status_code == 200, left.answer.text
        assert left.entries == expected(route, held), path
        looked = await asked(running, "HEAD", path)
        assert (looked.answer.status_code, looked.entries) == (200, left.entries), path
        tag = left.answer.headers.get("etag")
        if tag is not None:
            again = await asked(running, "GET", path, headers={"If-None-Match": tag})
            assert (again.answer.status_code, again.entries) == (304, left.entries), path


@pytest.mark.usefixtures("held")
async def test_what_is_not_there_is_noted_without_what_was_sent(running: World) -> None:
    for route in ON_ONE:
        for missing in (NOTHING, MARK, f"{NOTHING}-mobility", f"{MARK}-falls"):
            path = route.path.replace("{id}", missing).replace("{version}", "1")
            left = await asked(running, "GET", PREFIX + path)
            assert left.answer.status_code == 404, path
            assert left.entries == [(route.deed, "not_found", None)], path
    assert MARK not in str(bodies(running))


async def test_a_version_that_is_not_there_is_noted_with_whose_it_would_be(
    running: World, held: Foreign
) -> None:
    for route in ON_ONE:
        if "{version}" not in route.path:
            continue
        left = await asked(running, "GET", path_of(route, held, version=f"{MARK}.9"))
        assert left.answer.status_code == 404
        whose = None if kind_of(route) in OF_NOBODY else held.ids["patient_id"]
        assert left.entries == [(route.deed, "not_found", whose)]
    assert MARK not in str(bodies(running))


async def test_a_search_leaves_an_entry_for_each_patient_found_or_asked_for(
    running: World, held: Foreign
) -> None:
    patient = held.ids["patient_id"]
    for route in SEARCHES:
        kind = kind_of(route)
        named = "_id" if kind == "Patient" else "patient"
        whose = f"{named}={patient}" if kind not in OF_NOBODY else ""
        for query, found in ((whose, expected(route, held)), (f"_id={NOTHING}", None)):
            left = await searched(running, route, query)
            assert left.answer.status_code == 200, left.answer.text
            assert left.entries == (found or [(route.deed, "ok", None)]), (route.path, query)
    assert MARK not in str(bodies(running))


async def searched(running: World, route: Route, query: str, **more: Any) -> Any:
    if route.method == "GET":
        return await asked(running, "GET", f"{PREFIX}{route.path}?{query}", **more)
    path = PREFIX + route.path
    return await asked(running, "POST", path, content=query, headers=FORM, **more)


@pytest.mark.usefixtures("held")
async def test_a_search_for_somebody_unknown_notes_nothing_that_was_sent(running: World) -> None:
    for route in SEARCHES:
        if kind_of(route) in (*OF_NOBODY, "Patient"):
            continue
        for query in (f"patient={MARK}", f"patient:identifier=urn:x%7C{MARK}", f"{MARK}={MARK}"):
            left = await searched(running, route, query)
            assert left.answer.status_code == 200, left.answer.text
            assert {entry[:2] for entry in left.entries} == {(route.deed, "ok")}, query
    assert MARK not in str(bodies(running))


@pytest.mark.usefixtures("held")
async def test_a_search_that_cannot_be_is_noted(running: World) -> None:
    for route in SEARCHES:
        left = await searched(running, route, f"_cursor={MARK}")
        assert left.answer.status_code == 400, route.path
        assert left.entries == [(route.deed, "Unreadable", None)]
    assert MARK not in str(bodies(running))


async def test_what_is_brought_along_is_noted_too(running: World, held: Foreign) -> None:
    patient = held.ids["patient_id"]
    left = await asked(
        running, "GET", f"{PREFIX}/CarePlan?patient={patient}&_include=CarePlan:patient"
    )
    assert left.entries == [("careplan.search", "ok", patient), ("patient.read", "ok", patient)]


@pytest.mark.usefixtures("held")
async def test_without_its_scope_a_route_is_noted_as_refused(running: World) -> None:
    async with nobody_in_particular(running) as client:
        seen: set[tuple[str, ...]] = set()
        for route in NOTED:
            if not route.needs:
                continue
            path = PREFIX + route.path.replace("{id}", NOTHING).replace("{version}", "1")
            left = await asked(running, route.method, path, client=client)
            assert left.answer.status_code == 403
            scope = " ".join(f"system/{need}" for need in route.needs)
            once = [] if route.needs in seen else [("scope.refuse", f"lacks {scope}", None)]
            # one a minute of a kind; the next one says how many there were
            assert left.entries == once, path
            seen.add(route.needs)


@pytest.mark.usefixtures("held")
async def test_what_is_spoken_in_another_form_is_noted_as_refused(running: World) -> None:
    for route in NOTED:
        path = PREFIX + route.path.replace("{id}", MARK).replace("{version}", "1")
        left = await asked(running, route.method, f"{path}?_format=xml", headers=SENT)
        assert left.answer.status_code in (400, 406, 415, 428), (path, left.answer.text)
        assert [entry[0] for entry in left.entries] == [route.deed], path
        assert left.entries[0][1:] != ("ok", None)
    assert MARK not in str(bodies(running))
