"""Where does the next page of a list begin, without telling the caller how it is ordered?"""

import base64
import binascii

import msgspec

from service.domain.problem import Fault, Refused

_KEY = msgspec.json.Decoder(tuple[int, str], strict=True)
_LONGEST = 200

FIRST_UP = (-(2**62), "")
FIRST_DOWN = (2**62, "")


def cursor_of(value: int, row_id: str) -> str:
    """An opaque word that names the last row of a page."""
    return base64.urlsafe_b64encode(msgspec.json.encode((value, row_id))).decode().rstrip("=")


def read_cursor(cursor: str) -> tuple[int, str]:
    """The value and id in a cursor. Raises Refused where it is none of ours."""
    if len(cursor) > _LONGEST:
        raise _not_ours()
    try:
        padded = cursor.encode("ascii") + b"=" * (-len(cursor) % 4)
        value, row_id = _KEY.decode(base64.b64decode(padded, altchars=b"-_", validate=True))
        row_id.encode()
    except (msgspec.MsgspecError, binascii.Error, ValueError) as error:
        raise _not_ours() from error
    if not -(2**62) <= value <= 2**62:
        raise _not_ours()
    return value, row_id


def _not_ours() -> Refused:
    fault = Fault("/cursor", "cursor.unknown", "Use the cursor of a page's next link, unchanged.")
    return Refused("The cursor is none that was handed out.", (fault,))
