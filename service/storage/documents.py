"""How do the values of the domain become stored bytes, and come back?

Screens and plans are JSON packed by zlib: a seventh of the bytes to bring to the disk, for a
fifth of a millisecond. Small documents are plain JSON.

Each kind of document has a number that is stored beside it. When its shape changes the
number goes up, the older decoder stays here, and a document of each number is in the tests.
"""

import zlib
from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeVar

import msgspec
from msgspec import Struct

from service.domain.context import Setting
from service.domain.plan import Plan
from service.domain.profile import Profile
from service.domain.record import Overruled, SetAside
from service.domain.score import TestScore
from service.domain.screen import Screen
from service.domain.units import Units
from service.domain.value import Identifier

T = TypeVar("T")


class ScreenDocument(Struct, frozen=True):
    """What was sent and what the rules made of it. ``reason``: of a correction or withdrawal."""

    content: Screen
    profile: Profile
    tests: tuple[TestScore, ...]
    recorded_by: str
    reason: str | None = None


class PatientDocument(Struct, frozen=True):
    """How the patient came to be known, and who joined it to another one. ``merged_to``: that
    one, which may since have been joined to a third. Times in UTC."""

    known_since: int
    merged_at: int | None = None
    merged_by: str | None = None
    merged_to: str | None = None


class EventDocument(Struct, frozen=True):
    """``replaces`` belongs to created: the plan this one took over from. ``set_aside``: what
    clinicians had chosen for a plan that gives way to this one. ``since`` belongs to lapsed, as in
    ``domain.record.PlanEvent``."""

    by_plan: str | None = None
    reason: str | None = None
    replaces: str | None = None
    overruled: Overruled | None = None
    set_aside: tuple[SetAside, ...] = ()
    since: datetime | None = None


class Overlay(Struct, frozen=True):
    """An organisation's own numbers over the rule book: its file's name, and all that is in it."""

    name: str
    content: str


class OrganisationSettings(Struct, frozen=True):
    """What an organisation set for itself. ``delivery_targets``: names of outbox targets.
    ``setting``: of a screen that does not say it. ``units``: of the sentences people read."""

    delivery_targets: tuple[str, ...] = ()
    overlay: Overlay | None = None
    setting: Setting | None = None
    units: Units = Units.SI


class _Person(Struct, frozen=True):
    identifier: Identifier
    more_identifiers: tuple[Identifier, ...] = ()


class _Content(Struct, frozen=True):
    patient: _Person


class _Named(Struct, frozen=True):
    """As much of a ``ScreenDocument`` as says who the person is."""

    content: _Content


SCREEN_SCHEMA = 1
PLAN_SCHEMA = 1
PATIENT_SCHEMA = 1

_FAST = 1  # higher levels take four times as long to save another fifth

encode = msgspec.json.Encoder().encode
canonical = msgspec.json.Encoder(order="sorted").encode
"""JSON with sorted keys and no spaces: the same value is always the same bytes."""

_SCREENS: Mapping[int, Any] = {1: msgspec.json.Decoder(ScreenDocument)}
_NAMED: Mapping[int, Any] = {1: msgspec.json.Decoder(_Named)}
_PLANS: Mapping[int, Any] = {1: msgspec.json.Decoder(Plan)}
_PATIENTS: Mapping[int, Any] = {1: msgspec.json.Decoder(PatientDocument)}
_EVENTS = msgspec.json.Decoder(EventDocument)
_SETTINGS = msgspec.json.Decoder(OrganisationSettings)


def encode_screen(document: ScreenDocument) -> bytes:
    return zlib.compress(encode(document), _FAST)


def encode_plan(plan: Plan) -> bytes:
    return zlib.compress(encode(plan), _FAST)


def decode_screen(schema_no: int, body: bytes) -> ScreenDocument:
    document: ScreenDocument = _SCREENS[schema_no].decode(zlib.decompress(body))
    return document


def decode_identifiers(schema_no: int, body: bytes) -> tuple[Identifier, ...]:
    """By which a screen names the person, the rest of its document unread."""
    named: _Named = _NAMED[schema_no].decode(zlib.decompress(body))
    patient = named.content.patient
    return (patient.identifier, *patient.more_identifiers)


def decode_plan(schema_no: int, body: bytes) -> Plan:
    plan: Plan = _PLANS[schema_no].decode(zlib.decompress(body))
    return plan


def decode_patient(schema_no: int, body: bytes) -> PatientDocument:
    document: PatientDocument = _PATIENTS[schema_no].decode(body)
    return document


def decode_event(body: bytes) -> EventDocument:
    return _EVENTS.decode(body)


def decode_settings(body: bytes) -> OrganisationSettings:
    return _SETTINGS.decode(body)
