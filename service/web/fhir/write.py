"""How do responses come in over FHIR: created, corrected, withdrawn, one by one or in a Bundle?"""

from typing import Any

from litestar.response import Response

from service.application.told_whole import told_with
from service.domain.json_text import parse, refuse_depth
from service.domain.problem import Fault
from service.fhir.answer_entries import made_outcome
from service.fhir.encode import FHIR_JSON
from service.fhir.questionnaire_response import response_of
from service.fhir.read_response import ROOT, draft_of, refused
from service.fhir.search_query import shown as named
from service.fhir.told_bundle import told_bundle
from service.web import reply
from service.web.bodies import idempotency_key
from service.web.fhir import write_bundle
from service.web.fhir.conditions import Returned, prefer_of, returned, version_named
from service.web.fhir.content import answer, body_of, parameters_of
from service.web.fhir.deeds import Done, done_alone, headers_of, shown
from service.web.fhir.intents import (
    Desk,
    Intent,
    person_named,
    to_create,
    to_update,
    to_update_by,
    with_key,
)
from service.web.house import Ask, house_of
from service.web.refusals import BadRequest
from service.web.security import caller

RESPONSE_PARAMETER = "response"
"""The parameter of ``$screen`` that holds the response."""
_OF_ANY_VERSION = ("Location", "Link", "Idempotency-Replayed")
_OUTPUT_ONLY = ("_format", "_pretty")


async def create_response(request: Ask) -> Response[bytes]:
    desk = await _desk(request)
    key = idempotency_key(request)
    _no_query(request)
    raw = await _sent(request)
    condition = request.headers.get("if-none-exist")

    async def settle() -> Intent:
        draft = draft_of(desk.house.site, raw)
        intent = await to_create(desk, draft, await person_named(desk, draft), condition)
        return with_key(intent, "fhir.create", key)

    return _told(request, desk, await done_alone(desk, settle))


async def update_response(request: Ask) -> Response[bytes]:
    desk = await _desk(request)
    _no_query(request)
    expected = version_named(request.headers.get("if-match"))
    screen_id: str = request.path_params["id"]
    raw = await _sent(request)

    async def settle() -> Intent:
        draft = draft_of(desk.house.site, raw)
        if draft.id != screen_id:
            raise BadRequest("The resource needs the id that stands in the address.")
        person = await person_named(desk, draft)
        return await to_update(desk, draft, person, screen_id, expected)

    return _told(request, desk, await done_alone(desk, settle))


async def update_response_by_query(request: Ask) -> Response[bytes]:
    desk = await _desk(request)
    key = idempotency_key(request)
    query = request.scope["query_string"].decode("latin-1")
    asked = "&".join(
        part for part in query.split("&") if part.partition("=")[0] not in _OUTPUT_ONLY
    )
    raw = await _sent(request)

    async def settle() -> Intent:
        draft = draft_of(desk.house.site, raw)
        person = await person_named(desk, draft)
        if_match = request.headers.get("if-match")
        intent = await to_update_by(desk, draft, person, asked, if_match)
        return with_key(intent, "fhir.create", key)

    return _told(request, desk, await done_alone(desk, settle))


async def screen_operation(request: Ask) -> Response[bytes]:
    """Keep the screen and give the whole answer, as POST /v1/screens does."""
    desk = await _desk(request)
    key = idempotency_key(request)
    _no_query(request)
    raw, place = _response_in(await _sent(request))

    async def settle() -> Intent:
        draft = draft_of(desk.house.site, raw, place)
        person = await person_named(desk, draft)
        return with_key(await to_create(desk, draft, person, None), "fhir.screen", key)

    done = await done_alone(desk, settle)
    more = await told_with(desk.house.service, desk.call, done.answer)
    site = desk.house.site
    bundle = told_bundle(site, done.answer, more)
    headers = headers_of(site, done)
    # the Bundle is of no one version: what tells a version is left out
    told = {name: text for name, text in headers.items() if name in _OF_ANY_VERSION}
    return answer(request, bundle, 200, {**told, "Cache-Control": reply.PRIVATE})


async def post_bundle(request: Ask) -> Response[bytes]:
    desk = await _desk(request)
    key = idempotency_key(request)
    _no_query(request)
    raw = await _sent(request)
    wanted = returned(prefer_of(request), Returned.MINIMAL)
    told = await write_bundle.answered(request, desk, raw, key, wanted)
    return answer(request, told, 200, {"Cache-Control": reply.PRIVATE})


async def _sent(request: Ask) -> Any:
    """The body's value. Raises Unreadable, also where it is nested too deep."""
    value = parse(await body_of(request))
    refuse_depth(value)
    return value


async def _desk(request: Ask) -> Desk:
    call = await caller(request)
    return Desk(house_of(request), call)


def _no_query(request: Ask) -> None:
    text = f"Parameters that this address takes: {', '.join(_OUTPUT_ONLY)}."
    faults = [
        Fault(f"/http/{named(name)}", "search.unknown", text)
        for name, _ in parameters_of(request)
        if name not in _OUTPUT_ONLY
    ]
    if faults:
        raise BadRequest(text, tuple(faults))


def _response_in(raw: Any) -> tuple[Any, str]:
    """The response, sent alone or as a parameter, and its place. Raises Refused."""
    if not isinstance(raw, dict) or raw.get("resourceType") != "Parameters":
        return raw, ROOT
    parameters, place = raw.get("parameter"), "/Parameters/parameter"
    listed = parameters if isinstance(parameters, list) else []
    faults = [
        Fault(f"{place}/{index}", "form.place", f"The parameter here: {RESPONSE_PARAMETER}.")
        for index, one in enumerate(listed)
        if not isinstance(one, dict) or one.get("name") != RESPONSE_PARAMETER
    ]
    if len(listed) != 1 and not faults:
        text = f"Must hold the parameter {RESPONSE_PARAMETER} once."
        faults.append(Fault(place, "shape.missing", text))
    if faults:
        raise refused(faults)
    return listed[0].get("resource"), f"{place}/0/resource"


def _told(request: Ask, desk: Desk, done: Done) -> Response[bytes]:
    site = desk.house.site
    headers = headers_of(site, done)
    wanted = shown(desk, done, returned(prefer_of(request), Returned.REPRESENTATION))
    if wanted == Returned.MINIMAL:
        bare = {**headers, "Vary": reply.VARY}
        return Response(b"", status_code=done.status, media_type=FHIR_JSON, headers=bare)
    if wanted == Returned.OUTCOME:
        return answer(request, made_outcome(done.answer), done.status, headers)
    return answer(request, response_of(site, done.answer.screen), done.status, headers)
