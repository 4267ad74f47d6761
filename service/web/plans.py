"""How are plans read, overruled and ended over HTTP?"""

from litestar.response import Response

from service.application.end_plan import end_plan
from service.application.overrule_plan import overrule_plan
from service.application.read_plan import planned_move, read_plan, screen_behind
from service.application.service import Call
from service.domain.lifecycle import PlanEnded
from service.domain.move import Move
from service.domain.overruling import Decision
from service.domain.plan import Plan
from service.domain.problem import NotFound
from service.fhir.care_plan import care_plan_of
from service.web import etag, paging, reply
from service.web.bodies import read_body
from service.web.house import Ask, house_of
from service.web.negotiate import Form, form_of
from service.web.security import caller


async def read(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request)
    plan = await read_plan(house_of(request).service, call, request.path_params["plan_id"])
    return await told(request, call, plan, form)


async def read_move(request: Ask) -> Response[bytes]:
    call = await caller(request)
    form_of(request.headers.get("accept"), (Form.NATIVE,))
    paging.only(request)
    try:
        move = Move(request.path_params["move"])
    except ValueError:
        raise NotFound("No such move. /v1/rules lists them.") from None
    service = house_of(request).service
    planned = await planned_move(service, call, request.path_params["plan_id"], move)
    return reply.native(request, planned, headers={"Cache-Control": reply.PRIVATE})


async def overrule(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request)
    service, plan_id = house_of(request).service, request.path_params["plan_id"]
    version = etag.expected_plan(request.headers.get("if-match"), plan_id)
    decision = await read_body(request, Decision)
    plan = await overrule_plan(service, call, plan_id, version, decision)
    return await told(request, call, plan, form)


async def lapse(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request)
    service, plan_id = house_of(request).service, request.path_params["plan_id"]
    if_match = request.headers.get("if-match")
    version = None if if_match is None else etag.expected_plan(if_match, plan_id)
    body = await read_body(request, PlanEnded)
    plan = await end_plan(service, call, plan_id, version, body)
    return await told(request, call, plan, form)


async def told(request: Ask, call: Call, plan: Plan, form: Form) -> Response[bytes]:
    """The plan; to a reader 304 where what the client holds is as it is at this moment."""
    tag = etag.plan_tag(plan, form)
    held = request.headers.get("if-none-match") if request.method == "GET" else None
    if etag.unchanged(held, tag):
        return reply.not_modified(request, tag)
    headers = {"ETag": tag, "Cache-Control": reply.PRIVATE}
    if form == Form.NATIVE:
        return reply.native(request, plan, headers=headers)
    house = house_of(request)
    kept = await screen_behind(house.service, call, plan)
    resource = care_plan_of(house.site, plan, kept.record, kept.plan.events)
    return reply.fhir(request, resource, headers=headers)
