"""How are screens recorded, previewed, read, corrected and withdrawn over HTTP?"""

import hashlib

from litestar.response import Response

from service.application.correct_screen import correct_screen
from service.application.ports import Once
from service.application.preview_screen import preview_screen
from service.application.read_screen import read_screen, screens_since
from service.application.record_screen import record_screen
from service.application.service import Call
from service.application.told_whole import told_with
from service.application.withdraw_screen import withdraw_screen
from service.domain.record import Answer
from service.domain.screen import Screen
from service.fhir.bundle import bundle_of, wrapped
from service.fhir.questionnaire_response import response_of
from service.fhir.told_bundle import told_bundle
from service.web import etag, paging, reply
from service.web.bodies import CorrectedScreen, WithdrawalReason, idempotency_key, read_body
from service.web.house import Ask, house_of
from service.web.negotiate import Form, form_of
from service.web.security import caller


async def record(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    key = idempotency_key(request)
    paging.only(request)
    screen = await read_body(request, Screen)
    once = None
    if key is not None:
        digest = hashlib.sha256(reply.NATIVE.encode(screen)).hexdigest()
        once = Once("screen.record", key, digest)
    recorded = await record_screen(house_of(request).service, call, screen, once)
    headers = {"Location": f"/v1/screens/{recorded.answer.screen.id}"}
    if recorded.replayed:
        headers["Idempotency-Replayed"] = "true"
    return await _told(request, call, recorded.answer, form, 201, headers)


async def preview(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request)
    screen = await read_body(request, Screen)
    answer = await preview_screen(house_of(request).service, call, screen)
    if form == Form.FHIR:
        return reply.fhir(request, bundle_of(house_of(request).site, answer))
    return reply.native(request, answer)


async def read(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request, "version")
    service, screen_id = house_of(request).service, request.path_params["screen_id"]
    answer = await read_screen(service, call, screen_id, paging.version_of(request))
    return await _told(request, call, answer, form, 200, {})


async def correct(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request)
    version = etag.expected_version(request.headers.get("if-match"))
    body = await read_body(request, CorrectedScreen)
    answer = await correct_screen(
        house_of(request).service,
        call,
        request.path_params["screen_id"],
        version,
        body.correction_reason,
        body.screen(),
    )
    return await _told(request, call, answer, form, 200, {})


async def withdraw(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request)
    if_match = request.headers.get("if-match")
    version = None if if_match is None else etag.expected_version(if_match)
    body = await read_body(request, WithdrawalReason)
    answer = await withdraw_screen(
        house_of(request).service, call, request.path_params["screen_id"], version, body.reason
    )
    return await _told(request, call, answer, form, 200, {})


async def changed_since(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request, "since", "limit", "cursor")
    since, limit = paging.since_of(request), paging.limit_of(request)
    house = house_of(request)
    page = await screens_since(house.service, call, since, limit, paging.cursor_of(request))
    link = paging.next_link(request, page.next, since=since.isoformat())
    if form == Form.FHIR:
        found = [response_of(house.site, record) for record in page.items]
        links = paging.fhir_links(link)
        return reply.fhir(request, wrapped(house.site, "collection", found, links=links))
    return reply.native(request, paging.Listed(page.items, link))


async def _told(
    request: Ask, call: Call, answer: Answer, form: Form, status: int, headers: dict[str, str]
) -> Response[bytes]:
    """The answer; to a reader 304 where what the client holds is still so."""
    house = house_of(request)
    more = await told_with(house.service, call, answer) if form == Form.FHIR else None
    tag = etag.screen_tag(answer, form, None if more is None else more.standing)
    held = request.headers.get("if-none-match") if request.method == "GET" else None
    if etag.unchanged(held, tag):
        return reply.not_modified(request, tag)
    told = {"ETag": tag, "Cache-Control": reply.PRIVATE, **headers}
    if more is not None:
        return reply.fhir(request, told_bundle(house.site, answer, more), status, told)
    return reply.native(request, answer, status, told)
