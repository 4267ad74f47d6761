"""Which plan is a patient's current one, and what do the others hear of it?

Current is the plan of the not-withdrawn screen with the greatest (observed, screen id). The
patient's row points to it, moved in the transaction that changes the screens.
"""

from typing import NamedTuple

from service.domain.problem import NotFound
from service.domain.record import PlanEventKind, Principal
from service.storage import statements_sqlite as sql
from service.storage.batch import Batch
from service.storage.documents import EventDocument
from service.storage.rows import PatientRow


class Leading(NamedTuple):
    """A screen as it competes, compared in this order, and its plan with the end of its time;
    ``until`` is None once that end is written down."""

    observed: int
    screen: str
    plan: str
    until: int | None


def leading_of(row: PatientRow) -> Leading | None:
    """Where the pointer stands."""
    if row.current_plan is None or row.current_screen is None or row.current_observed is None:
        return None
    return Leading(row.current_observed, row.current_screen, row.current_plan, row.current_until)


def point(batch: Batch, org: str, patient: str, leading: Leading | None) -> None:
    """Set the pointer."""
    row = batch.patient(org, patient)
    if row is None:
        raise NotFound("No such patient.")
    observed, screen, plan, until = leading or (None, None, None, None)
    batch.put_patient(
        row._replace(
            current_observed=observed,
            current_screen=screen,
            current_plan=plan,
            current_until=until,
        )
    )


def arrive(batch: Batch, by: Principal, root: PatientRow, new: Leading) -> str | None:
    """A new screen came: its plan leads, or is kept as superseded. Gives the plan it replaces."""
    before = leading_of(root)
    if before is not None and before > new:
        _created(batch, by, root.id, new.plan, None)
        _superseded(batch, by, root.id, new.plan, before.plan)
        return None
    replaces = before.plan if before else None
    _created(batch, by, root.id, new.plan, replaces)
    if replaces:
        _superseded(batch, by, root.id, replaces, new.plan)
    point(batch, by.org, root.id, new)
    return replaces


def revise(batch: Batch, by: Principal, root: PatientRow, old_plan: str, new_plan: str) -> None:
    """A screen was corrected: ``new_plan`` took the place of ``old_plan``; find who leads."""
    before, leading = leading_of(root), _found(batch, by.org, root.id)
    standing = before.plan if before else None
    leads = leading is not None and leading.plan == new_plan
    _created(batch, by, root.id, new_plan, standing if leads else None)
    if standing is not None and (leads or standing == old_plan):
        _superseded(batch, by, root.id, standing, new_plan)
    if leading is not None and not leads:
        _superseded(batch, by, root.id, new_plan, leading.plan)
        if leading.plan != standing:
            _restored(batch, by, root.id, leading.plan)
    point(batch, by.org, root.id, leading)


def retract(batch: Batch, by: Principal, root: PatientRow, plan: str, reason: str) -> None:
    """A screen was withdrawn with its plan; if that one led, the one before stands again."""
    withdrawn = EventDocument(reason=reason)
    batch.add_event(by, root.id, plan, PlanEventKind.WITHDRAWN, withdrawn)
    if root.current_plan != plan:
        return
    leading = _found(batch, by.org, root.id)
    if leading is not None:
        _restored(batch, by, root.id, leading.plan)
    point(batch, by.org, root.id, leading)


def _found(batch: Batch, org: str, root: str) -> Leading | None:
    batch.flush()
    row = batch.one(sql.LEADING_SCREEN, org=org, patient=root)
    return None if row is None else Leading(row[1], row[0], row[2], row[3])


def _created(batch: Batch, by: Principal, patient: str, plan: str, replaces: str | None) -> None:
    left = batch.set_aside(by.org, replaces) if replaces else ()
    said = EventDocument(replaces=replaces, set_aside=left)
    batch.add_event(by, patient, plan, PlanEventKind.CREATED, said)


def _superseded(batch: Batch, by: Principal, patient: str, plan: str, by_plan: str) -> None:
    said = EventDocument(by_plan=by_plan)
    batch.add_event(by, patient, plan, PlanEventKind.SUPERSEDED, said)


def _restored(batch: Batch, by: Principal, patient: str, plan: str) -> None:
    batch.add_event(by, patient, plan, PlanEventKind.RESTORED, EventDocument())
