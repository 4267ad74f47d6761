"""Which bodies does a client send besides the screen, and how is a body read?

A framework's own reading is lenient, so that "3" becomes 3; here the raw bytes are read.
"""

import asyncio
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import asdict

from service.domain.json_text import parse
from service.domain.lifecycle import PlanEnded
from service.domain.overruling import Decision
from service.domain.problem import Refused
from service.domain.screen import Screen
from service.domain.sense_text import faults_of_text
from service.domain.shape import fit
from service.domain.value import Identifier, ShortWord, Words
from service.web.house import Ask, house_of
from service.web.refusals import BadRequest, TooSlow, Unsupported

T = TypeVar("T")


class CorrectedScreen(Screen, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The whole screen as it should have been, and why it is corrected."""

    correction_reason: Words

    def screen(self) -> Screen:
        fields = {name: getattr(self, name) for name in Screen.__struct_fields__}
        return Screen(**fields)


class WithdrawalReason(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Why a screen is taken back."""

    reason: Words


class MergeInto(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """``into``: the opaque id of the patient that stays."""

    into: ShortWord


async def read_body(request: Ask, kind: type[T]) -> T:
    """The body as a ``kind``; a screen that does not say its setting has the organisation's.
    Raises Unsupported, TooSlow, Unreadable, Refused."""
    _check_media_type(request.headers.get("content-type"))
    raw = parse(await bytes_of_body(request))
    setting = house_of(request).site.setting
    if setting is not None and issubclass(kind, Screen) and isinstance(raw, dict):
        raw.setdefault("setting", setting.value)
    value = fit(raw, kind)
    _check_texts(value)
    return value


async def bytes_of_body(request: Ask) -> bytes:
    """The body as it was sent. Raises Unsupported, TooSlow."""
    if request.headers.get("content-encoding", "identity").lower() != "identity":
        raise Unsupported("Send the body without a Content-Encoding.")
    try:
        async with asyncio.timeout(house_of(request).body_seconds):
            return await request.body()
    except TimeoutError:
        raise TooSlow("Send the whole body at once.") from None


def _check_texts(value: object) -> None:
    """Texts of the small bodies; those of a screen are part of its sense."""
    faults = tuple(
        fault
        for path, text in _texts(value).items()
        if text is not None
        for fault in faults_of_text(path, text)
    )
    if faults:
        raise Refused("The body holds text that cannot be kept.", faults)


def _texts(value: object) -> dict[str, str | None]:
    """Each by its JSON Pointer."""
    if isinstance(value, CorrectedScreen):
        return {"/correction_reason": value.correction_reason}
    if isinstance(value, Decision):
        by = value.by
        texts = {"/reason": value.reason, "/by/role": by.role, "/method": value.method}
        return {**texts, **_under("/by/identifier", by.identifier)}
    if isinstance(value, PlanEnded):
        return {"/trigger": value.trigger, "/note": value.note}
    if isinstance(value, (WithdrawalReason, MergeInto, Identifier)):
        return _under("", value)
    return {}


def _under(path: str, texts: Struct) -> dict[str, str | None]:
    return {f"{path}/{name}": text for name, text in asdict(texts).items()}


def _check_media_type(content_type: str | None) -> None:
    media, *parameters = (part.strip().lower() for part in (content_type or "").split(";"))
    if media != "application/json":
        raise Unsupported("Send Content-Type: application/json.")
    for parameter in parameters:
        name, _, value = parameter.partition("=")
        if name == "charset" and value.strip('"') not in ("utf-8", "utf8"):
            raise Unsupported("JSON is UTF-8: leave charset out of Content-Type, or say utf-8.")


def idempotency_key(request: Ask) -> str | None:
    """The key under which a repeated post is known. Raises BadRequest."""
    key = request.headers.get("idempotency-key")
    if key is None:
        return None
    if not 1 <= len(key) <= 255 or not key.isascii() or not key.isprintable():
        raise BadRequest("Idempotency-Key must be 1 to 255 printable ASCII characters.")
    return key
