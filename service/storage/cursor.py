"""Where does the next page of a list begin, without telling the caller how it is ordered?"""

import base64
import binascii
from typing import Any

import msgspec

from service.domain.problem import Fault, Refused

_KEY = msgspec.json.Decoder(tuple[int, str], strict=True)
_PLACE = msgspec.json.Decoder(tuple[int, str, int], strict=True)
_TRAIL = msgspec.json.Decoder(tuple[int, int, int], strict=True)
_LONGEST = 200

_MOST = 2**62

FIRST_UP = (-_MOST, "")
FIRST_DOWN = (_MOST, "")


def cursor_of(value: int, row_id: str) -> str:
    """An opaque word that names the last row of a page."""
    return _word((value, row_id))


def word_of(value: int, row_id: str, version: int) -> str:
    """An opaque word that names one version of a row."""
    return _word((value, row_id, version))


def trail_word(at: int, chain: int, seq: int) -> str:
    """An opaque word that names an entry of the audit trail."""
    return _word((at, chain, seq))


def read_cursor(cursor: str) -> tuple[int, str]:
    """The value and id in a cursor. Raises Refused where it is none of ours."""
    value, row_id = _read(cursor, _KEY)
    return value, row_id


def read_place(cursor: str) -> tuple[int, str, int]:
    """The value, id and version in a cursor. Raises Refused where it is none of ours."""
    value, row_id, version = _read(cursor, _PLACE)
    if not 0 <= version <= _MOST:
        raise _not_ours()
    return value, row_id, version


def read_trail_place(cursor: str) -> tuple[int, int, int]:
    """The time, chain and number in a cursor. Raises Refused where it is none of ours."""
    if len(cursor) > _LONGEST:
        raise _not_ours()
    at, chain, seq = _decoded(cursor, _TRAIL)
    if not (-_MOST <= at <= _MOST and 0 <= chain <= _MOST and 0 <= seq <= _MOST):
        raise _not_ours()
    return at, chain, seq


def _word(parts: tuple[int | str, ...]) -> str:
    return base64.urlsafe_b64encode(msgspec.json.encode(parts)).decode().rstrip("=")


def _read(cursor: str, decoder: msgspec.json.Decoder[Any]) -> Any:
    if len(cursor) > _LONGEST:
        raise _not_ours()
    parts = _decoded(cursor, decoder)
    try:
        parts[1].encode()
    except ValueError as error:
        raise _not_ours() from error
    if not -_MOST <= parts[0] <= _MOST:
        raise _not_ours()
    return parts


def _decoded(cursor: str, decoder: msgspec.json.Decoder[Any]) -> Any:
    try:
        padded = cursor.encode("ascii") + b"=" * (-len(cursor) % 4)
        return decoder.decode(base64.b64decode(padded, altchars=b"-_", validate=True))
    except (msgspec.MsgspecError, binascii.Error, ValueError) as error:
        raise _not_ours() from error


def _not_ours() -> Refused:
    fault = Fault("/cursor", "cursor.unknown", "Use the cursor of a page's next link, unchanged.")
    return Refused("The cursor is none that was handed out.", (fault,))
