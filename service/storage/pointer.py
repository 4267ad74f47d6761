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
from service.storage.rows import PatientRow
from service.storage.times import to_micros


class Leading(NamedTuple):
    """A screen as it competes, compared in this order, and its plan with the end of its time;
    ``until`` is None once that end is written down."""

    observed: int
    screen: str
    plan: str
    until: int | None


class Left(NamedTuple):
    """What a plan leaves to the one that takes its place: choices of clinicians, which are told
    there, and what ended it before its time."""

    choices: tuple[SetAside, ...] = ()
    ended: PlanEvent | None = None


NOTHING = Left()


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
    replaces = before.plan if before else None
    left = left_by(batch, by.org, replaces)
    _created(batch, by, root.id, new.plan, replaces, left)
    if replaces:
        _superseded(batch, by, root.id, replaces, new.plan)
    point(batch, by.org, root.id, ended_too(batch, by, root.id, new, left))
    return replaces


def revise(batch: Batch, by: Principal, root: PatientRow, old_plan: str, new_plan: str) -> None:
    """A screen was corrected: ``new_plan`` took the place of ``old_plan``; find who leads."""
    before, leading = leading_of(root), _found(batch, by.org, root.id)
    standing = before.plan if before else None
    leads = leading is not None and leading.plan == new_plan
    left = left_by(batch, by.org, standing, anew=standing == old_plan)
    _created(batch, by, root.id, new_plan, *((standing, left) if leads else ()))
    if standing is not None and (leads or standing == old_plan):
        _superseded(batch, by, root.id, standing, new_plan)
    if leading is not None and not leads:
        _superseded(batch, by, root.id, new_plan, leading.plan)
        if leading.plan != standing:
            _restored(batch, by, root.id, leading.plan, left)
    if leading is not None and leading.plan != standing:
        leading = ended_too(batch, by, root.id, leading, left)
    point(batch, by.org, root.id, leading)


def retract(batch: Batch, by: Principal, root: PatientRow, plan: str, reason: str) -> None:
    """A screen was withdrawn with its plan; if that one led, the one before stands again."""
    left = left_by(batch, by.org, plan)
    withdrawn = EventDocument(reason=reason)
    batch.add_event(by, root.id, plan, PlanEventKind.WITHDRAWN, withdrawn)
    if root.current_plan != plan:
        return
    leading = _found(batch, by.org, root.id)
    if leading is not None:
        _restored(batch, by, root.id, leading.plan, left)
        leading = ended_too(batch, by, root.id, leading, left)
    point(batch, by.org, root.id, leading)


def left_by(batch: Batch, org: str, plan: str | None, *, anew: bool = False) -> Left:
    """``anew``: the screen of the plan itself is planned anew, so that what the plan before had
    left to it is still open."""
    events = () if plan is None else batch.story_of(org, plan, whole=anew)
    return Left(set_aside(events, anew=anew), ended(events))


def ended_too(batch: Batch, by: Principal, patient: str, new: Leading, left: Left) -> Leading:
    """``new`` as it stands after what ended the plan before. Where the person was seen before that
    was told, this plan lapses by it too, in the name of whoever told it: a fall does not go away
    because a screen of before it is corrected, is withdrawn, or arrives late."""
    told = left.ended
    if told is None or new.until is None or new.until <= batch.at:
        return new
    since = told.since or told.at
    if new.observed >= to_micros(since):
        return new
    if ended(batch.story_of(by.org, new.plan)) is None:
        said = EventDocument(reason=told.reason, since=since)
        teller = replace(by, name=told.actor)
        batch.add_event(teller, patient, new.plan, PlanEventKind.LAPSED, said)
    return new._replace(until=None)


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
    left: Left = NOTHING,
) -> None:
    said = EventDocument(replaces=replaces, set_aside=left.choices)
    batch.add_event(by, patient, plan, PlanEventKind.CREATED, said)


def _superseded(batch: Batch, by: Principal, patient: str, plan: str, by_plan: str) -> None:
    said = EventDocument(by_plan=by_plan)
    batch.add_event(by, patient, plan, PlanEventKind.SUPERSEDED, said)


def _restored(batch: Batch, by: Principal, patient: str, plan: str, left: Left) -> None:
    said = EventDocument(set_aside=left.choices)
    batch.add_event(by, patient, plan, PlanEventKind.RESTORED, said)
