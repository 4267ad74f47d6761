"""Which statements does a search run? Said once in terms of the tables.

Each gives the id, version and place of rows in one order, from a cursor on: for one patient or
for all, by one time, up or down. The rows themselves are read by their keys afterwards.
"""

from itertools import product
from typing import Any

from sqlalchemy import Text, bindparam, func, literal_column, select, tuple_, union_all
from sqlmodel import SQLModel

import service.storage.tables  # noqa: F401 - fills the metadata

_TABLES = SQLModel.metadata.tables
_PATIENT = _TABLES["patient"]
_SCREEN = _TABLES["screen"]
_PLAN = _TABLES["plan"]
_EVENT = _TABLES["plan_event"]
_IDENTIFIER = _TABLES["patient_id"]
_ONE: Any = literal_column("1")

SCOPES = ("patient", "all")
WAYS = ("up", "down")
KEYS = ("screen_observed", "screen_changed", "plan_observed", "plan_changed")


def _family() -> Any:
    """The ids of a patient and of all that were merged into it, each found by an index."""
    merged = select(_PATIENT.c.id).where(
        _PATIENT.c.org == bindparam("org"), _PATIENT.c.merged_into == bindparam("patient")
    )
    return union_all(select(bindparam("patient", type_=Text)), merged)


def _last(table: Any, key: str) -> Any:
    """No later version is there."""
    later = table.alias("later")
    same = later.c[key] == table.c[key]
    return ~(select(later.c[key]).where(same, later.c.version == table.c.version + _ONE).exists())


def _stretch(columns: tuple[Any, Any, Any], way: str, *conditions: Any) -> Any:
    """``columns``: the time, the id and the version that rows are ordered by."""
    place = tuple_(*columns)
    cursor = tuple_(bindparam("after_at"), bindparam("after_id"), bindparam("after_version"))
    time, row_id, version = columns
    return (
        select(row_id.label("id"), version.label("version"), time.label("at"))
        .where(
            *conditions,
            time >= bindparam("low"),
            time <= bindparam("high"),
            place > cursor if way == "up" else place < cursor,
        )
        .order_by(*(one.asc() if way == "up" else one.desc() for one in columns))
        .limit(bindparam("limit"))
    )


def _found(key: str, scope: str, way: str) -> Any:
    table = _EVENT if key == "plan_changed" else _SCREEN if key.startswith("screen") else _PLAN
    conditions = [table.c.org == bindparam("org")]
    if scope == "patient":
        conditions.append(_of_family(table))
    if key == "screen_observed":
        conditions.append(_last(_SCREEN, "id"))
    if key == "plan_changed":
        conditions.append(_last(_EVENT, "plan"))
    columns = {
        "screen_observed": (_SCREEN.c.observed, _SCREEN.c.id, _SCREEN.c.version),
        "screen_changed": (_SCREEN.c.recorded, _SCREEN.c.id, _SCREEN.c.version),
        "plan_observed": (_PLAN.c.valid_from, _PLAN.c.id, _PLAN.c.screen_version),
        "plan_changed": (_EVENT.c.at, _EVENT.c.plan, _EVENT.c.version),
    }
    return _stretch(columns[key], way, *conditions)


def _of_family(table: Any) -> Any:
    if table is not _EVENT:
        return table.c.patient.in_(_family())
    plans = select(_PLAN.c.id).where(
        _PLAN.c.org == bindparam("org"), _PLAN.c.patient.in_(_family())
    )
    return _EVENT.c.plan.in_(plans)


def searches() -> dict[str, Any]:
    """Every statement that a search runs."""
    named = {
        f"find_{key}_{scope}_{way}": _found(key, scope, way)
        for key, scope, way in product(KEYS, SCOPES, WAYS)
    }
    org: Any = bindparam("org")
    named["versions_of"] = (
        select(_SCREEN)
        .where(_SCREEN.c.org == org, _SCREEN.c.id == bindparam("id"))
        .order_by(_SCREEN.c.version.desc())
        .limit(bindparam("limit"))
    )
    named["patients_after"] = (
        select(_PATIENT)
        .where(_PATIENT.c.org == org, _PATIENT.c.id > bindparam("after_id"))
        .order_by(_PATIENT.c.id)
        .limit(bindparam("limit"))
    )
    named["next_system"] = select(func.min(_IDENTIFIER.c.system)).where(
        _IDENTIFIER.c.org == org, _IDENTIFIER.c.system > bindparam("after_system")
    )
    named["told_of"] = (
        select(
            _SCREEN.c.id,
            _SCREEN.c.version,
            _SCREEN.c.recorded,
            _SCREEN.c.status,
            _SCREEN.c.schema_no,
            _SCREEN.c.body,
        )
        .where(_SCREEN.c.org == org, _SCREEN.c.patient == bindparam("patient"))
        .order_by(_SCREEN.c.recorded.desc(), _SCREEN.c.id.desc(), _SCREEN.c.version.desc())
        .limit(bindparam("limit"))
    )
    return named
