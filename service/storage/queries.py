"""Which statements does the serving path run? Said once in terms of the tables.

Only the generator imports this; the service runs the text it compiles. ``:limit`` and the
other parameters are named, inserts take a row of the table in column order.
"""

from collections.abc import Callable
from typing import Any

from sqlalchemy import (
    Text,
    and_,
    bindparam,
    case,
    delete,
    func,
    literal_column,
    select,
    tuple_,
    union_all,
    update,
)
from sqlmodel import SQLModel

from service.storage import tables
from service.storage.audit_queries import audits
from service.storage.erase_queries import erasures, unseen
from service.storage.search_queries import searches

Insert = Callable[[Any], Any]
"""The ``insert`` of a dialect that knows ON CONFLICT."""

_TABLES = SQLModel.metadata.tables
_PATIENT = _TABLES["patient"]
_SCREEN = _TABLES["screen"]
_PLAN = _TABLES["plan"]
_EVENT = _TABLES["plan_event"]
_CLAIM = _TABLES["idempotency"]
_CREDENTIAL = _TABLES["credential"]
_ORGANISATION = _TABLES["organisation"]
_IDENTIFIER = _TABLES["patient_id"]
_OUTBOX = _TABLES["outbox"]
_OVERRULED = _EVENT.c.kind == literal_column("'overruled'")
_OVER = select(_PLAN.c.valid_until).where(_PLAN.c.id == _EVENT.c.plan).scalar_subquery()
_ENDED = and_(_EVENT.c.kind == literal_column("'lapsed'"), _EVENT.c.at < _OVER)

CLASSES = {
    str(model.__tablename__): model.__name__
    for model in vars(tables).values()
    if isinstance(model, type) and issubclass(model, SQLModel) and model is not SQLModel
}


def _is(table: Any, *columns: str) -> list[Any]:
    return [table.c[name] == bindparam(name) for name in columns]


def _after(table: Any, *columns: str) -> Any:
    return tuple_(*(table.c[name] for name in columns)) > _cursor(*columns)


def _before(table: Any, *columns: str) -> Any:
    return tuple_(*(table.c[name] for name in columns)) < _cursor(*columns)


def _cursor(*columns: str) -> Any:
    return tuple_(*(bindparam(f"after_{name}") for name in columns))


def _family() -> Any:
    """The ids of a patient and of all that were merged into it, each found by an index."""
    member = _PATIENT.alias("member")
    merged = select(member.c.id).where(
        member.c.org == bindparam("org"), member.c.merged_into == bindparam("patient")
    )
    return union_all(select(bindparam("patient", type_=Text)), merged)


def _latest(screen: Any) -> Any:
    """No later version of this screen is there."""
    later = _SCREEN.alias("later")
    return ~(
        select(later.c.id)
        .where(later.c.id == screen.c.id, later.c.version == screen.c.version + literal_column("1"))
        .exists()
    )


def writes(insert: Insert) -> dict[str, Any]:
    """Every statement that changes rows."""
    named: dict[str, Any] = {f"insert_{name}": insert(table) for name, table in _TABLES.items()}
    claim = insert(_CLAIM)
    named["claim_key"] = claim.on_conflict_do_update(
        index_elements=list(_CLAIM.primary_key.columns),
        set_={name: claim.excluded[name] for name in ("digest", "screen", "at")},
    )
    named["ensure_patient_id"] = insert(_IDENTIFIER).on_conflict_do_nothing()
    named["update_patient"] = (
        update(_PATIENT)
        .where(_PATIENT.c.org == bindparam("of_org"), _PATIENT.c.id == bindparam("of_id"))
        .values({column: bindparam(column.name) for column in _PATIENT.c if not column.primary_key})
    )
    named["redirect_merged"] = (
        update(_PATIENT)
        .where(_PATIENT.c.org == bindparam("of_org"), _PATIENT.c.merged_into == bindparam("gone"))
        .values(merged_into=bindparam("into"))
    )
    named["forget_claims"] = delete(_CLAIM).where(_CLAIM.c.at < bindparam("before"))
    named["forget_claims_of"] = delete(_CLAIM).where(_CLAIM.c.org == bindparam("of_org"))
    return named | _commanded() | erasures()


def _commanded() -> dict[str, Any]:
    """What commands change."""
    named: dict[str, Any] = {}
    named["revoke_credential"] = (
        update(_CREDENTIAL)
        .where(_CREDENTIAL.c.id == bindparam("of_id"), _CREDENTIAL.c.revoked.is_(None))
        .values(revoked=bindparam("at"))
    )
    named["end_credential"] = (
        update(_CREDENTIAL)
        .where(_CREDENTIAL.c.id == bindparam("of_id"))
        .values(expires=bindparam("at"))
    )
    named["set_organisation"] = (
        update(_ORGANISATION)
        .where(_ORGANISATION.c.org == bindparam("of_org"))
        .values({name: bindparam(name) for name in ("name", "time_zone", "settings")})
    )
    named["use_credential"] = (
        update(_CREDENTIAL)
        .where(_CREDENTIAL.c.id == bindparam("of_id"))
        .values(last_used=bindparam("at"))
    )
    return named


def _joined() -> Any:
    """Those merged into a patient: found by their index, then each by its key."""
    member = _PATIENT.alias("member")
    merged = select(member.c.id).where(*_is(member, "org", "merged_into"))
    return select(_PATIENT).where(*_is(_PATIENT, "org"), _PATIENT.c.id.in_(merged))


def _points() -> dict[str, Any]:
    """Reads that give one row or the few rows of one thing."""
    newest = _SCREEN.c.version.desc()
    return {
        "organisation": select(_ORGANISATION).where(*_is(_ORGANISATION, "org")),
        "organisations": select(_ORGANISATION).order_by(_ORGANISATION.c.org),
        "patient": select(_PATIENT).where(*_is(_PATIENT, "org", "id")),
        "joined_patients": _joined(),
        "patient_id": select(_IDENTIFIER.c.patient).where(
            *_is(_IDENTIFIER, "org", "system", "value")
        ),
        "claim": select(_CLAIM).where(*_is(_CLAIM, "org", "credential", "operation", "key")),
        "screen_of_source": select(_SCREEN).where(
            *_is(_SCREEN, "org", "source_id"), _SCREEN.c.version == literal_column("1")
        ),
        "screen": select(_SCREEN)
        .where(*_is(_SCREEN, "org", "id"))
        .order_by(newest)
        .limit(literal_column("1")),
        "screen_version": select(_SCREEN).where(*_is(_SCREEN, "org", "id", "version")),
        "plan": select(_PLAN).where(*_is(_PLAN, "org", "id")),
        "plan_of_screen": select(_PLAN)
        .where(*_is(_PLAN, "org", "screen"), _PLAN.c.screen_version <= bindparam("version"))
        .order_by(_PLAN.c.screen_version.desc())
        .limit(literal_column("1")),
        "events": select(_EVENT).where(*_is(_EVENT, "org", "plan")).order_by(_EVENT.c.version),
        "last_event": select(
            func.max(_EVENT.c.version), func.max(case((_OVERRULED | _ENDED, _EVENT.c.version)))
        ).where(*_is(_EVENT, "plan")),
        "last_recorded": select(func.max(_SCREEN.c.recorded)).where(*_is(_SCREEN, "org")),
        "credential": select(_CREDENTIAL).where(*_is(_CREDENTIAL, "prefix")),
        "credential_by_id": select(_CREDENTIAL).where(*_is(_CREDENTIAL, "id")),
        "credentials": select(_CREDENTIAL).order_by(_CREDENTIAL.c.org, _CREDENTIAL.c.id),
    }


def _leading() -> Any:
    """The screen that leads among a patient's, and its plan."""
    own = (_PLAN.c.screen == _SCREEN.c.id) & (_PLAN.c.screen_version == _SCREEN.c.version)
    return (
        select(_SCREEN.c.id, _SCREEN.c.observed, _PLAN.c.id.label("plan"), _PLAN.c.valid_until)
        .join(_PLAN, own)
        .where(
            _SCREEN.c.org == bindparam("org"),
            _SCREEN.c.patient.in_(_family()),
            _SCREEN.c.status != literal_column("'withdrawn'"),
            _latest(_SCREEN),
        )
        .order_by(_SCREEN.c.observed.desc(), _SCREEN.c.id.desc())
        .limit(literal_column("1"))
    )


def _of_family(table: Any, *before: str) -> Any:
    """A page of a patient's rows, from the newest back."""
    return (
        select(table)
        .where(
            table.c.org == bindparam("org"), table.c.patient.in_(_family()), _before(table, *before)
        )
        .order_by(*(table.c[name].desc() for name in before))
        .limit(bindparam("limit"))
    )


def _events_of_patient() -> Any:
    """What counts as this patient's own events, newest first, each with its plan's screen."""
    return (
        select(_EVENT, _PLAN.c.screen)
        .join(_PLAN, _PLAN.c.id == _EVENT.c.plan)
        .where(
            _PLAN.c.org == bindparam("org"),
            _PLAN.c.patient.in_(_family()),
            _EVENT.c.patient == bindparam("member"),
        )
        .order_by(_EVENT.c.rev.desc())
        .limit(bindparam("limit"))
    )


def _lists() -> dict[str, Any]:
    """Reads that give a page, or walk a whole table in order."""
    since = [*_is(_SCREEN, "org"), _latest(_SCREEN), _after(_SCREEN, "recorded", "id")]
    return {
        "leading_screen": _leading(),
        "screens_of": _of_family(_SCREEN, "observed", "id").where(_latest(_SCREEN)),
        "screens_since": select(_SCREEN)
        .where(*since)
        .order_by(_SCREEN.c.recorded, _SCREEN.c.id)
        .limit(bindparam("limit")),
        "plans_of": _of_family(_PLAN, "valid_from", "id"),
        "events_of_patient": _events_of_patient(),
        "patients_due": select(_PATIENT)
        .where(_PATIENT.c.current_until <= bindparam("now"))
        .order_by(_PATIENT.c.current_until)
        .limit(bindparam("limit")),
        "outbox_waiting": select(func.count(), func.min(_OUTBOX.c.id)).where(
            _OUTBOX.c.done.is_(None)
        ),
    }


def reads() -> dict[str, Any]:
    """Every statement that only reads."""
    return _points() | _lists() | searches() | unseen() | audits()
