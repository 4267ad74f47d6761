"""Which versions has one resource, and whose is it?"""

from collections.abc import Awaitable, Callable, Mapping
from typing import Any

from msgspec import Struct

from service.application.answer import answer_now
from service.application.person_history import persons_of
from service.application.plan_history import plan_versions
from service.application.ports import KeptScreen, Standing
from service.application.search_records import plan_behind, screen_versions
from service.application.service import Call
from service.application.standing import LISTED, LOOKED_BACK, looked_up
from service.application.told_whole import family_of
from service.domain.record import PatientRecord
from service.fhir.care_plan import care_plan_of
from service.fhir.finding_history import findings_of
from service.fhir.flag import flags_of
from service.fhir.goal import goals_of
from service.fhir.kinds import FLAG_KINDS, GOAL_KINDS, TASK_KINDS, patient_of_kind
from service.fhir.patient_history import patient_at
from service.fhir.provenance_history import PROVENANCE, provenances_of
from service.fhir.questionnaire_response import response_of
from service.fhir.site import Site
from service.fhir.software import device_id, device_of
from service.fhir.task import tasks_of
from service.web.house import House

_ID = 36
"""The characters of a screen's id, before a dash and the finding."""
Wholes = Callable[[Site, Standing], tuple[Any, ...]]


class Instance(Struct, frozen=True):
    """``versions``: newest first, of which ``most`` at most are told. ``patient``: whose it is.
    ``is_current``: it is the plan that holds now."""

    versions: tuple[Any, ...]
    patient: str | None = None
    is_current: bool = False


Find = Callable[[House, Call, str, int], Awaitable[Instance | None]]
"""Gives the resource of an id with ``most`` versions at most; None where there is none."""


async def _patient(house: House, call: Call, name: str, most: int) -> Instance | None:
    record = await house.service.records.patient(call.principal.org, name)
    return None if record is None else await patient_instance(house, call, record, most)


async def patient_instance(
    house: House, call: Call, record: PatientRecord, most: int
) -> Instance | None:
    """None where no screen told of the patient."""
    family = await family_of(house.service, call, record.id)
    persons = await persons_of(house.service, call, family, most)
    versions = tuple([patient_at(house.site, one) for one in persons])
    return Instance(versions, record.id) if versions else None


async def _observation(house: House, call: Call, name: str, most: int) -> Instance | None:
    history = await _of_screen(house, call, name)
    if not history:
        return None
    now = house.service.clock()
    findings = findings_of(house.site, [answer_now(kept, now) for kept in history])
    return _told(findings.of(name)[:most], history)


async def _response(house: House, call: Call, name: str, most: int) -> Instance | None:
    history = await screen_versions(house.service, call, name)
    versions = [response_of(house.site, kept.record) for kept in history[::-1][:most]]
    return _told(tuple(versions), history)


async def _provenance(house: House, call: Call, name: str, most: int) -> Instance | None:
    if name[_ID:] != f"-{PROVENANCE}":
        return None
    history = await _of_screen(house, call, name)
    if not history:
        return None
    return _told(provenances_of(house.site, history, house.service.clock())[:most], history)


async def _of_screen(house: House, call: Call, name: str) -> tuple[KeptScreen, ...]:
    return await screen_versions(house.service, call, name[:_ID])


def _told(versions: tuple[Any, ...], history: tuple[KeptScreen, ...]) -> Instance | None:
    return Instance(versions, history[-1].record.patient_id) if versions else None


async def _care_plan(house: House, call: Call, name: str, most: int) -> Instance | None:
    found = await plan_behind(house.service, call, name)
    if found is None:
        return None
    versions = plan_versions(found.plan, house.service.clock())[:most]
    told = [care_plan_of(house.site, one.plan, found.record, one.events) for one in versions]
    return Instance(tuple(told), found.plan.plan.patient_id, found.plan.is_current)


def _whole(kinds: tuple[str, ...], wholes: Wholes) -> Find:
    """One of the resources that tell of a patient as a whole."""

    async def find(house: House, call: Call, name: str, most: int) -> Instance | None:
        whose = patient_of_kind(name, kinds)
        if whose is None:
            return None
        found = await looked_up(house.service, call, whose[0], min(most, LISTED), LOOKED_BACK)
        told = [one for stood in found for one in wholes(house.site, stood) if one.id == name]
        return Instance(tuple(told), whose[0]) if told else None

    return find


async def _device(house: House, _call: Call, name: str, _most: int) -> Instance | None:
    ref = house.service.book.ref
    return Instance((device_of(house.site, ref),)) if name == device_id(ref) else None


WHOLES: Mapping[str, Wholes] = {"Goal": goals_of, "Flag": flags_of, "Task": tasks_of}
FIND: Mapping[str, Find] = {
    "Patient": _patient,
    "Observation": _observation,
    "QuestionnaireResponse": _response,
    "CarePlan": _care_plan,
    "Goal": _whole(GOAL_KINDS, goals_of),
    "Flag": _whole(FLAG_KINDS, flags_of),
    "Task": _whole(TASK_KINDS, tasks_of),
    "Device": _device,
    "Provenance": _provenance,
}
"""By resource type."""
