"""Which statements take everything away that is kept of a patient?"""

from typing import Any

from sqlalchemy import Text, bindparam, delete, select, union_all
from sqlmodel import SQLModel

from service.storage import tables  # noqa: F401 - fills the metadata

_TABLES = SQLModel.metadata.tables
_PATIENT = _TABLES["patient"]
_SCREEN = _TABLES["screen"]
_CLAIM = _TABLES["idempotency"]
KEPT_OF_A_PATIENT = ("outbox", "patient_id", "plan", "plan_event", "screen")
"""Tables whose rows name a patient, besides the patient's own row."""


def _everyone() -> Any:
    """The patient and all that were merged into it."""
    member = _PATIENT.alias("member")
    merged = select(member.c.id).where(
        member.c.org == bindparam("of_org"), member.c.merged_into == bindparam("of_patient")
    )
    return union_all(select(bindparam("of_patient", type_=Text)), merged)


def erasures() -> dict[str, Any]:
    """In the order in which they run: what finds a row goes after it."""
    screens = select(_SCREEN.c.id).where(
        _SCREEN.c.org == bindparam("of_org"), _SCREEN.c.patient.in_(_everyone())
    )
    named: dict[str, Any] = {
        "erase_idempotency": delete(_CLAIM).where(
            _CLAIM.c.org == bindparam("of_org"), _CLAIM.c.screen.in_(screens)
        )
    }
    for name in KEPT_OF_A_PATIENT:
        table = _TABLES[name]
        named[f"erase_{name}"] = delete(table).where(
            table.c.org == bindparam("of_org"), table.c.patient.in_(_everyone())
        )
    named["erase_merged"] = delete(_PATIENT).where(
        _PATIENT.c.org == bindparam("of_org"), _PATIENT.c.merged_into == bindparam("of_patient")
    )
    named["erase_patient"] = delete(_PATIENT).where(
        _PATIENT.c.org == bindparam("of_org"), _PATIENT.c.id == bindparam("of_patient")
    )
    return named


def unseen() -> dict[str, Any]:
    """Patients of an organisation of whom nothing was recorded since a moment."""
    seen = (
        select(_SCREEN.c.id)
        .where(
            _SCREEN.c.org == _PATIENT.c.org,
            _SCREEN.c.patient == _PATIENT.c.id,
            _SCREEN.c.recorded >= bindparam("since"),
        )
        .exists()
    )
    member = _PATIENT.alias("member")
    of_family = (
        select(_SCREEN.c.id)
        .join(member, (member.c.org == _SCREEN.c.org) & (member.c.id == _SCREEN.c.patient))
        .where(
            member.c.org == _PATIENT.c.org,
            member.c.merged_into == _PATIENT.c.id,
            _SCREEN.c.recorded >= bindparam("since"),
        )
        .exists()
    )
    return {
        "unseen_patients": select(_PATIENT.c.id)
        .where(
            _PATIENT.c.org == bindparam("org"), _PATIENT.c.merged_into.is_(None), ~seen, ~of_family
        )
        .order_by(_PATIENT.c.id)
    }
