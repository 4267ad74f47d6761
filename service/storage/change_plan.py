"""How does the plan that stands change: overruled, ended, or run out?"""

from datetime import datetime

from service.application.plan_ports import Ending, Overruling
from service.application.ports import AuditEntry, KeptPlan
from service.domain.lifecycle import as_of
from service.domain.plan import Plan, PlanState
from service.domain.problem import Conflict, NotFound, StaleVersion
from service.domain.record import PlanEventKind, Principal
from service.storage import statements_sqlite as sql
from service.storage.batch import Batch
from service.storage.documents import EventDocument
from service.storage.kept import kept_plan
from service.storage.people import root_of
from service.storage.rows import PatientRow, PlanEventRow, PlanRow
from service.storage.times import from_micros, to_micros

_RAN_OUT = EventDocument()


def overrule(batch: Batch, said: Overruling) -> bool:
    """A clinician's choice is the plan's next version; it lapses nothing. Raises NotFound,
    Conflict, StaleVersion."""
    by = said.principal
    root, kept = _found(batch, by.org, said.plan)
    plan = _now(batch, kept)
    if plan.state != PlanState.CURRENT:
        raise Conflict("This plan no longer holds: screen again, or overrule the one that does.")
    _must_stand_at(plan, said.expected_version)
    document = EventDocument(overruled=said.choice)
    batch.add_event(by, root.id, said.plan, PlanEventKind.OVERRULED, document)
    batch.audit(AuditEntry("plan.overrule", by, said.request_id, "ok", root.id, said.plan))
    return False


def end(batch: Batch, said: Ending) -> bool:
    """Lapse a plan before its time; whether this did. Raises NotFound, Conflict, StaleVersion."""
    by = said.principal
    root, kept = _found(batch, by.org, said.plan)
    plan = _now(batch, kept)
    if plan.state not in (PlanState.CURRENT, PlanState.LAPSED):
        raise Conflict("This plan no longer holds: lapse the one that does.")
    if said.expected_version is not None:
        _must_stand_at(plan, said.expected_version)
    told = EventDocument(reason=said.reason, since=said.happened_at)
    written = _written(batch, by, root, kept, from_micros(batch.at), told)
    batch.audit(AuditEntry("plan.lapse", by, said.request_id, "ok", root.id, said.plan))
    return written


def lapse(batch: Batch, by: Principal, plan: str, at: datetime, request_id: str = "") -> bool:
    """Write down once that a current plan's time ran out; whether this did. Raises NotFound."""
    root, kept = _found(batch, by.org, plan)
    if not kept.is_current or not _written(batch, by, root, kept, at):
        return False
    batch.audit(AuditEntry("plan.lapse", by, request_id, "ok", root.id, plan))
    return True


def _written(
    batch: Batch,
    by: Principal,
    root: PatientRow,
    kept: KeptPlan,
    at: datetime,
    said: EventDocument = _RAN_OUT,
) -> bool:
    if root.current_until is not None:
        batch.put_patient(root._replace(current_until=None))
    if any(event.kind == PlanEventKind.LAPSED for event in kept.events):
        return False
    batch.add_event(by, root.id, kept.plan.id, PlanEventKind.LAPSED, said, to_micros(at))
    return True


def _found(batch: Batch, org: str, plan: str) -> tuple[PatientRow, KeptPlan]:
    """The patient for whom the plan counts, and the plan with its events."""
    batch.flush()
    found = batch.one(sql.PLAN, org=org, id=plan)
    if found is None:
        raise NotFound("No such plan.")
    row = PlanRow(*found)
    root = root_of(batch, org, row.patient)
    told = batch.connection.execute(sql.EVENTS, {"org": org, "plan": plan})
    return root, kept_plan(row, [PlanEventRow(*event) for event in told], root.current_plan)


def _now(batch: Batch, kept: KeptPlan) -> Plan:
    now = from_micros(batch.at)
    return as_of(kept.plan, kept.events, is_current=kept.is_current, now=now)


def _must_stand_at(plan: Plan, expected: int) -> None:
    if plan.version != expected:
        raise StaleVersion(f"The plan has version {plan.version}, not {expected}: read it again.")
