"""Is what Stanchion publishes about itself read and found over HTTP, page by page?"""

from typing import Any
from urllib.parse import urlsplit

import pytest

from service.fhir.site import CANONICAL
from service.rules.load import load_book
from service.web.fhir.definitions import MOST
from tests.web.world import World

BASE = "/fhir/R4"
VERSION = load_book().ref.version
Json = dict[str, Any]


async def found(running: World, path: str, **headers: str) -> Json:
    answer = await running.client.get(f"{BASE}/{path}", headers=headers)
    assert answer.status_code == 200, answer.text
    told: Json = answer.json()
    return told


def link(bundle: Json, relation: str) -> str | None:
    return next((one["url"] for one in bundle["link"] if one["relation"] == relation), None)


def ids(bundle: Json) -> list[str]:
    matches = [one for one in bundle.get("entry", []) if one["search"]["mode"] == "match"]
    return [one["resource"]["id"] for one in matches]


@pytest.mark.parametrize(
    "place",
    [
        "Questionnaire/bedside-mobility-screen",
        "StructureDefinition/stanchion-care-plan",
        "StructureDefinition/helpers",
        "CodeSystem/method",
        "ValueSet/method",
        "ConceptMap/method-to-snomed",
        "PlanDefinition/safe-patient-handling",
        "ActivityDefinition/stand-aid",
        "OperationDefinition/screen",
    ],
)
async def test_a_definition_of_each_type_is_read(running: World, place: str) -> None:
    told = await found(running, place)
    kind, _, name = place.partition("/")
    assert (told["resourceType"], told["id"], told["version"]) == (kind, name, VERSION)


async def test_what_is_not_there_is_a_404_in_the_words_of_fhir(running: World) -> None:
    answer = await running.client.get(f"{BASE}/ValueSet/unheard-of")
    assert answer.status_code == 404
    assert answer.json()["resourceType"] == "OperationOutcome"


async def test_an_id_of_another_type_is_not_there(running: World) -> None:
    answer = await running.client.get(f"{BASE}/ConceptMap/bedside-mobility-screen")
    assert answer.status_code == 404


async def test_who_holds_a_definition_already_gets_304(running: World) -> None:
    first = await running.client.get(f"{BASE}/CodeSystem/method")
    tag = first.headers["etag"]
    again = await running.client.get(f"{BASE}/CodeSystem/method", headers={"If-None-Match": tag})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["vary"] == first.headers["vary"]
    other = await running.client.get(f"{BASE}/CodeSystem/method", headers={"If-None-Match": '"x"'})
    assert other.status_code == 200


async def test_a_definition_is_found_by_its_canonical(running: World) -> None:
    url = (await found(running, "ValueSet/method"))["url"]
    bundle = await found(running, f"ValueSet?url={url}%7C{VERSION}")
    assert (bundle["type"], bundle["total"], ids(bundle)) == ("searchset", 1, ["method"])
    entry = bundle["entry"][0]
    assert entry["search"]["mode"] == "match"
    assert urlsplit(entry["fullUrl"]).path == f"{BASE}/ValueSet/method"
    assert ids(await found(running, f"ValueSet?url={url}%7C0.0.0")) == []


async def test_pages_hold_everything_once(running: World) -> None:
    bundle = await found(running, "CodeSystem?_count=10")
    told, pages = ids(bundle), 1
    following = link(bundle, "next")
    while following is not None:
        parts = urlsplit(following)
        assert parts.scheme and parts.netloc
        bundle = (await running.client.get(f"{parts.path}?{parts.query}")).json()
        told += ids(bundle)
        pages += 1
        following = link(bundle, "next")
    assert len(told) == len(set(told)) == bundle["total"]
    assert pages == -(-bundle["total"] // 10)


async def test_a_count_of_nothing_counts_only_and_there_is_an_end_to_it(running: World) -> None:
    counted = await found(running, "CodeSystem?_count=0")
    assert counted["total"] > 40
    assert "entry" not in counted
    assert link(counted, "next") is None
    assert f"_count={MOST}" in str(link(await found(running, "CodeSystem?_count=9999"), "self"))


@pytest.mark.parametrize("query", ["_count=x", "_count=-1", "_count=1&_count=2", "_from=1e3"])
async def test_a_page_that_is_no_number_is_refused(running: World, query: str) -> None:
    answer = await running.client.get(f"{BASE}/CodeSystem?{query}")
    assert answer.status_code == 400
    assert answer.json()["resourceType"] == "OperationOutcome"


async def test_what_is_not_searched_by_is_left_out_or_refused_where_that_is_wished(
    running: World,
) -> None:
    bundle = await found(running, "CodeSystem?flavour=sweet&_id=method")
    assert ids(bundle) == ["method"]
    assert "flavour" not in str(link(bundle, "self"))
    strict = {"Prefer": "handling=strict"}
    refused = await running.client.get(f"{BASE}/CodeSystem?flavour=sweet", headers=strict)
    assert refused.status_code == 400
    assert "flavour" in refused.text
    assert ids(await found(running, "CodeSystem?_id=method&_pretty=true", **strict)) == ["method"]


async def test_what_was_left_out_is_told_and_a_modifier_is_refused(running: World) -> None:
    bundle = await found(running, "CodeSystem?flavour=sweet&_id=method")
    match, outcome = bundle["entry"]
    assert (match["search"]["mode"], outcome["search"]["mode"]) == ("match", "outcome")
    assert "flavour" in outcome["resource"]["issue"][0]["details"]["text"]
    for query in ("url:below=urn:x", "name:exact=Method", "_count:x=1"):
        answer = await running.client.get(f"{BASE}/CodeSystem?{query}")
        (issue,) = answer.json()["issue"]
        assert (answer.status_code, issue["code"]) == (400, "not-supported")
        assert issue["expression"] == [f"http.`{query.partition('=')[0]}`"]


@pytest.mark.parametrize(
    "place", ["CodeSystem/method", "Questionnaire/bedside-mobility-screen", "ValueSet/method"]
)
async def test_a_definition_is_given_in_part(running: World, place: str) -> None:
    whole = await found(running, place)
    part = await found(running, f"{place}?_elements=url")
    assert part["meta"]["tag"][0]["code"] == "SUBSETTED"
    assert {"resourceType", "id", "meta", "url", "status"} <= part.keys()
    assert part.keys() - {"meta"} < whole.keys()
    kind = place.partition("/")[0]
    listed = await found(running, f"{kind}?_id={whole['id']}&_summary=true")
    assert listed["entry"][0]["resource"]["meta"]["tag"][0]["code"] == "SUBSETTED"
    assert "text" not in listed["entry"][0]["resource"]
    assert "_summary=true" in str(link(listed, "self"))
    refused = await running.client.get(f"{BASE}/{place}?_summary=count")
    assert refused.status_code == 400


async def test_the_total_alone_is_given_where_that_is_asked_for(running: World) -> None:
    whole = await found(running, "CodeSystem?_count=5")
    counted = await found(running, "CodeSystem?_summary=count&_count=5")
    assert (counted["total"], "entry" in counted) == (whole["total"], False)
    assert link(counted, "next") is None
    again = (await running.client.get(str(link(counted, "self")))).json()
    assert (again["total"], "entry" in again) == (whole["total"], False)


async def test_a_search_by_post_finds_the_same(running: World) -> None:
    form = {"Content-Type": "application/x-www-form-urlencoded"}
    answer = await running.client.post(
        f"{BASE}/CodeSystem/_search?_count=5", content="_id=method,move", headers=form
    )
    by_get = await found(running, "CodeSystem?_id=method,move&_count=5")
    assert (answer.status_code, answer.json()["entry"]) == (200, by_get["entry"])
    json = {"Content-Type": "application/json"}
    refused = await running.client.post(f"{BASE}/CodeSystem/_search", content="{}", headers=json)
    assert refused.status_code == 415


async def test_without_a_key_nothing_is_told(running: World) -> None:
    answer = await running.nobody.get(f"{BASE}/CodeSystem/method")
    assert answer.status_code == 401


def canonicals(value: Any) -> list[str]:
    """Every address of ours in ``value``."""
    if isinstance(value, dict):
        return [each for inner in value.values() for each in canonicals(inner)]
    if isinstance(value, list):
        return [each for inner in value for each in canonicals(inner)]
    own = isinstance(value, str) and value.startswith(f"{CANONICAL}/")
    return [value] if own else []


async def test_all_that_the_capability_statement_names_is_served(running: World) -> None:
    named = set(canonicals(await found(running, "metadata")))
    assert f"{CANONICAL}/StructureDefinition/stanchion-care-plan" in named
    for url in named:
        kind = url.removeprefix(f"{CANONICAL}/").partition("/")[0]
        if kind != "CapabilityStatement":
            assert (await found(running, f"{kind}?url={url}"))["total"] == 1, url
