"""What is needed to tell a screen's answer together with what holds for the patient?"""

from msgspec import Struct

from service.application.answer import answer_now
from service.application.person_history import Person, person_of
from service.application.ports import Family, KeptPlan, Standing, Stood
from service.application.service import Call, Service
from service.application.standing import looked_up
from service.domain.overruling import as_computed
from service.domain.problem import NotFound
from service.domain.record import Answer, PlanEvent, ScreenRecord

VERSIONS_READ = 200
"""How many versions of a screen are compared at most, the newest of them."""


class Told(Struct, frozen=True):
    """``events``: the plan's. ``history``: the screen's versions up to this one, oldest first,
    where it is not the first. ``standing``: where the patient stands. ``person``: as whom the
    patient is known after this version, where it does not say all of that itself."""

    events: tuple[PlanEvent, ...]
    history: tuple[Answer, ...]
    standing: Standing | None
    person: Person | None = None


async def told_with(service: Service, call: Call, answer: Answer) -> Told:
    """What else there is to tell with an answer that was just given. Of the plans before, one is
    looked at: what it told that no longer holds is taken back; anything older was before."""
    held = _held(answer)
    found = await looked_up(service, call, answer.screen.patient_id, 1, 1, held)
    family = (found[0].family if found else None) or Family(answer.screen.patient_id)
    person = await person_of(service, call, answer.screen, family)
    if found and found[0].patient.merged_into is not None:
        found = await looked_up(service, call, found[0].patient.merged_into, 1, 1, held)
    standing = found[0] if found else None
    history = await versions_of(service, call, answer.screen)
    if standing is not None and standing.plan.plan.id == answer.plan.id:
        return Told(standing.plan.events, history, standing, person)
    kept = await service.records.plan(call.principal.org, answer.plan.id)
    if kept is None:
        raise NotFound("No such plan.")
    return Told(kept.events, history, standing, person)


def _held(answer: Answer) -> Stood | None:
    """The plan as it was read with its screen. Of a withdrawn screen the plan's own version is
    another one; one that was overruled is no longer as it was kept."""
    if answer.screen.version != answer.plan.screen_version or not as_computed(answer.plan):
        return None
    kept = KeptPlan(answer.plan, (), is_current=True)
    return Stood(kept, answer.screen, answer.profile, answer.tests)


async def versions_of(service: Service, call: Call, record: ScreenRecord) -> tuple[Answer, ...]:
    """The versions of a changed screen up to this one, oldest first; none of a first version."""
    if record.version == 1:
        return ()
    now, first = service.clock(), max(1, record.version - VERSIONS_READ + 1)
    found = [
        await service.records.screen(call.principal.org, record.id, version)
        for version in range(first, record.version + 1)
    ]
    return tuple([answer_now(kept, now) for kept in found if kept is not None])


async def family_of(service: Service, call: Call, patient: str) -> Family:
    """The records that are one patient with this one. Raises NotFound."""
    found = await service.records.family(call.principal.org, patient)
    if found is None:
        raise NotFound("No such patient.")
    return found
