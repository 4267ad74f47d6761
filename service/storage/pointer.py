"""Which plan is a patient's current one, and what do the others hear of it?

Current is the plan of the not-withdrawn screen with the greatest (observed, screen id). The
patient's row points to it, moved in the transaction that changes the screens.
"""

from typing import NamedTuple

from msgspec.structs import replace

from service.domain.lifecycle import ended
from service.domain.overruling import set_aside
from service.domain.problem import NotFound
from service.domain.record import PlanEvent, PlanEventKind, Principal, SetAside
from service.storage import statements_sqlite as sql
from service.storage.batch import Batch
from service.storage.documents import EventDocument
from service.storage.kept import plan_events
from service.storage.rows import PatientRow, PlanEventRow
from service.storage.times import to_micros

_LOOKED_BACK = 1000
"""How many of a patient's events are looked through for what ended a plan."""
Choices = tuple[SetAside, ...]


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
        _created(batch, by, root.id, new.plan)
        _superseded(batch, by, root.id, new.plan, before.plan)
        return None
    if before is None:
        told = last_end(batch, by.org, root.id) if root.rev else None
        _created(batch, by, root.id, new.plan)
    else:
        told = ended(batch.story_of(by.org, before.plan))
        left = left_by(batch, by.org, before.plan)
        _created(batch, by, root.id, new.plan, before.plan, left)
        _superseded(batch, by, root.id, before.plan, new.plan)
    point(batch, by.org, root.id, ended_too(batch, by, root.id, new, told))
    return before.plan if before else None


def revise(batch: Batch, by: Principal, root: PatientRow, old_plan: str, new_plan: str) -> None:
    """A screen was corrected: ``new_plan`` took the place of ``old_plan``; find who leads."""
    before, leading = leading_of(root), _found(batch, by.org, root.id)
    standing = before.plan if before else None
    leads = leading is not None and leading.plan == new_plan
    chosen = left_by(batch, by.org, standing) if standing is not None else ()
    left = left_by(batch, by.org, old_plan, anew=True)
    replaces, left = (standing, _each_once(left, chosen)) if leads else (None, left)
    _created(batch, by, root.id, new_plan, replaces, left)
    if standing is not None and (leads or standing == old_plan):
        _superseded(batch, by, root.id, standing, new_plan)
    if leading is not None and not leads:
        _superseded(batch, by, root.id, new_plan, leading.plan)
        if leading.plan != standing:
            _restored(batch, by, root.id, leading.plan, chosen)
    if leading is not None and leading.plan != standing:
        leading = ended_too(batch, by, root.id, leading, last_end(batch, by.org, root.id))
    point(batch, by.org, root.id, leading)


def retract(batch: Batch, by: Principal, root: PatientRow, plan: str, reason: str) -> None:
    """A screen was withdrawn with its plan; if that one led, the one before stands again."""
    chosen = left_by(batch, by.org, plan)
    withdrawn = EventDocument(reason=reason)
    batch.add_event(by, root.id, plan, PlanEventKind.WITHDRAWN, withdrawn)
    if root.current_plan != plan:
        return
    leading = _found(batch, by.org, root.id)
    if leading is not None:
        _restored(batch, by, root.id, leading.plan, chosen)
        leading = ended_too(batch, by, root.id, leading, last_end(batch, by.org, root.id))
    point(batch, by.org, root.id, leading)


def left_by(batch: Batch, org: str, plan: str, *, anew: bool = False) -> Choices:
    """What clinicians had chosen for a plan that gives way. ``anew``: its own screen is planned
    anew, so that what the plan before had left to it is still open."""
    return set_aside(batch.story_of(org, plan, whole=anew), anew=anew)


def last_end(batch: Batch, org: str, *patients: str) -> PlanEvent | None:
    """By what somebody ended a plan of these patients, or of those merged into them, last."""
    batch.flush()
    found = []
    for patient in patients:
        named = {"org": org, "merged_into": patient}
        joined = batch.connection.execute(sql.JOINED_PATIENTS, named).fetchall()
        for member in (patient, *[PatientRow(*row).id for row in joined]):
            of = {"org": org, "patient": patient, "member": member, "limit": _LOOKED_BACK}
            rows = batch.connection.execute(sql.EVENTS_OF_PATIENT, of).fetchall()
            told = [PlanEventRow(*event) for *event, _ in rows]
            lapses = [row for row in told if row.kind == PlanEventKind.LAPSED.value]
            found += [one for one in plan_events(lapses) if one.reason is not None]
    return max(found, key=lambda end: end.told_at, default=None)


def ended_too(
    batch: Batch, by: Principal, patient: str, new: Leading, told: PlanEvent | None
) -> Leading:
    """``new`` as it stands after what ended a plan before. Where the person was seen before that
    was told, this plan lapses by it too, in the name of whoever told it: a fall does not go away
    because a screen of before it is corrected, is withdrawn, or arrives late."""
    if told is None or new.until is None or new.until <= batch.at:
        return new
    since = told.told_at
    if new.observed >= to_micros(since):
        return new
    if ended(batch.story_of(by.org, new.plan)) is None:
        said = EventDocument(reason=told.reason, since=since)
        teller = replace(by, name=told.actor)
        batch.add_event(teller, patient, new.plan, PlanEventKind.LAPSED, said)
    return new._replace(until=None)


def _each_once(*told: Choices) -> Choices:
    return tuple(dict.fromkeys([one for each in told for one in each]))


def _found(batch: Batch, org: str, root: str) -> Leading | None:
    batch.flush()
    row = batch.one(sql.LEADING_SCREEN, org=org, patient=root)
    return None if row is None else Leading(row[1], row[0], row[2], row[3])


def _created(
    batch: Batch,
    by: Principal,
    patient: str,
    plan: str,
    replaces: str | None = None,
    left: Choices = (),
) -> None:
    said = EventDocument(replaces=replaces, set_aside=left)
    batch.add_event(by, patient, plan, PlanEventKind.CREATED, said)


def _superseded(batch: Batch, by: Principal, patient: str, plan: str, by_plan: str) -> None:
    said = EventDocument(by_plan=by_plan)
    batch.add_event(by, patient, plan, PlanEventKind.SUPERSEDED, said)


def _restored(batch: Batch, by: Principal, patient: str, plan: str, left: Choices) -> None:
    said = EventDocument(set_aside=left)
    batch.add_event(by, patient, plan, PlanEventKind.RESTORED, said)
