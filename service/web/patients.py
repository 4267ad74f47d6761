"""How are patients found, read, listed and merged over HTTP?

A patient that was merged into another answers 301 to the one that stays.
"""

from litestar.response import Response

from service.application.patients import (
    find_patient,
    merge_patients,
    plans_of,
    read_patient,
    screens_of,
)
from service.application.person_history import persons_of
from service.application.read_plan import current_plan, patient_with_plan, screen_behind
from service.application.service import Call
from service.application.told_whole import family_of
from service.domain.problem import NotFound
from service.domain.record import PatientRecord
from service.domain.value import Identifier
from service.fhir.bundle import wrapped
from service.fhir.care_plan import care_plan_of
from service.fhir.patient_history import patient_at
from service.fhir.questionnaire_response import response_of
from service.web import paging, plans, reply
from service.web.bodies import MergeInto, read_body
from service.web.house import Ask, house_of
from service.web.negotiate import Form, form_of
from service.web.security import caller


async def read(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request)
    patient = await _patient(request, call, "patient.read")
    if patient.merged_into is not None:
        return _moved(request, patient.merged_into)
    return await _told(request, call, patient, form)


async def plan(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request)
    service = house_of(request).service
    patient = await patient_with_plan(service, call, request.path_params["patient_id"])
    if patient.merged_into is not None:
        return _moved(request, patient.merged_into)
    current = await current_plan(service, call, patient)
    return await plans.told(request, call, current, form)


async def screens(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request, "limit", "cursor")
    limit, cursor = paging.limit_of(request), paging.cursor_of(request)
    patient = await _patient(request, call, "screen.list")
    if patient.merged_into is not None:
        return _moved(request, patient.merged_into)
    house = house_of(request)
    page = await screens_of(house.service, call, patient, limit, cursor)
    link = paging.next_link(request, page.next)
    if form == Form.NATIVE:
        return reply.native(request, paging.Listed(page.items, link))
    found = [response_of(house.site, record) for record in page.items]
    links = paging.fhir_links(link)
    return reply.fhir(request, wrapped(house.site, "collection", found, links=links))


async def all_plans(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request, "limit", "cursor")
    limit, cursor = paging.limit_of(request), paging.cursor_of(request)
    patient = await _patient(request, call, "plan.list")
    if patient.merged_into is not None:
        return _moved(request, patient.merged_into)
    house = house_of(request)
    page = await plans_of(house.service, call, patient, limit, cursor)
    link = paging.next_link(request, page.next)
    headers = {"Cache-Control": reply.PRIVATE}
    if form == Form.NATIVE:
        return reply.native(request, paging.Listed(page.items, link), headers=headers)
    found = []
    for one in page.items:
        behind = await screen_behind(house.service, call, one)
        found.append(care_plan_of(house.site, one, behind.record, behind.plan.events))
    links = paging.fhir_links(link)
    bundle = wrapped(house.site, "collection", found, links=links)
    return reply.fhir(request, bundle, headers=headers)


async def find(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request)
    body = await read_body(request, Identifier)
    service = house_of(request).service
    found = await find_patient(service, call, body.system, body.value)
    return await _told(request, call, found, form)


async def merge(request: Ask) -> Response[bytes]:
    call, form = await caller(request), form_of(request.headers.get("accept"))
    paging.only(request)
    body = await read_body(request, MergeInto)
    service, patient_id = house_of(request).service, request.path_params["patient_id"]
    stays = await merge_patients(service, call, patient_id, body.into)
    return await _told(request, call, stays, form)


async def _patient(request: Ask, call: Call, action: str) -> PatientRecord:
    service, patient_id = house_of(request).service, request.path_params["patient_id"]
    return await read_patient(service, call, patient_id, action)


async def _told(request: Ask, call: Call, patient: PatientRecord, form: Form) -> Response[bytes]:
    """As FHIR the person is told of as [base]/Patient tells."""
    if form == Form.NATIVE:
        return reply.native(request, patient)
    house = house_of(request)
    family = await family_of(house.service, call, patient.id)
    persons = await persons_of(house.service, call, family, 1)
    if not persons:
        raise NotFound("Nothing is known of this patient yet that could be told as FHIR.")
    return reply.fhir(request, patient_at(house.site, persons[0]))


def _moved(request: Ask, into: str) -> Response[bytes]:
    """The same address of the patient that stays, its parameters kept."""
    rest = request.url.path.split("/", 4)[4:]
    path = "/".join(("/v1/patients", into, *rest))
    query = f"?{request.url.query}" if request.url.query else ""
    headers = {"Location": path + query, "Cache-Control": reply.PRIVATE}
    return Response(b"", status_code=301, headers=headers)
