"""Is a raw body one JSON value that means one thing only?

Numbers with a fraction become Decimal, digit for digit. One too large or too small to be
written as a Decimal becomes ``IMMENSE``, which no field allows.
"""

import json
import re
from collections import Counter
from decimal import Decimal, InvalidOperation
from typing import Any

import msgspec

from service.domain.problem import Fault, Refused, Unreadable

DEEPEST = 32
IMMENSE = Decimal("Infinity")

_SPACED_COLONS = (b" :", b"\n:", b"\r:", b"\t:")
_KEY = re.compile(rb'"[ \t\r\n]*:')
_OFFSET = re.compile(r"JSON is malformed: (.*) \(byte (\d+)\)")
_PLAIN_NAME = re.compile(r"[A-Za-z0-9_.:-]{1,64}")


def parse(body: bytes) -> Any:
    """The value of ``body``. Raises Unreadable, with the byte or the place at fault."""
    try:
        body.decode("utf-8")
        value = _DECODER.decode(body)
    except RecursionError:
        raise _unreadable("json.too_deep", _TOO_DEEP) from None
    except UnicodeDecodeError as error:
        raise _unreadable("json.encoding", f"Not UTF-8 at byte {error.start}.") from None
    except msgspec.ValidationError:
        fault = Fault("", "shape.range", "A whole number in the body has thousands of digits.")
        raise Refused("The body cannot be taken as it is.", (fault,)) from None
    except msgspec.DecodeError as error:
        raise _malformed(body, str(error)) from None
    if not _each_key_once(body, value):
        _refuse_duplicates(body)
    return value


def refuse_depth(value: Any) -> None:
    """Raises Unreadable where arrays and objects are nested deeper than ``DEEPEST``."""
    layer = [value] if isinstance(value, (dict, list)) else []
    for _ in range(DEEPEST):
        layer = [inner for outer in layer for inner in _inside(outer)]
        if not layer:
            return
    raise _unreadable("json.too_deep", _TOO_DEEP)


def _inside(outer: dict[str, Any] | list[Any]) -> list[Any]:
    inner = outer.values() if isinstance(outer, dict) else outer
    return [part for part in inner if isinstance(part, (dict, list))]


def pointer(path: str, name: str) -> str:
    """JSON Pointer of the field ``name`` in ``path``; a name that may be a person's words,
    not a field's, is left out, and the pointer stays at the object."""
    return f"{path}/{name}" if _PLAIN_NAME.fullmatch(name) else path


_TOO_DEEP = f"Arrays and objects may be nested {DEEPEST} deep at most."


def _number(text: str) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation:
        return IMMENSE


_DECODER = msgspec.json.Decoder(float_hook=_number)


def _unreadable(rule: str, text: str, path: str = "") -> Unreadable:
    return Unreadable("The body cannot be read as JSON.", (Fault(path, rule, text),))


def _malformed(body: bytes, said: str) -> Unreadable:
    if not body.strip():
        return _unreadable("json.empty", "The body is empty; send one JSON object.")
    if body.startswith(b"\xef\xbb\xbf"):
        return _unreadable("json.encoding", "Leave out the byte order mark at byte 0.")
    found = _OFFSET.fullmatch(said)
    if found is None:
        early = f"The body ends too early, at byte {len(body)}, or has half of a character pair."
        return _unreadable("json.malformed", early)
    return _unreadable("json.malformed", f"Not JSON at byte {found[2]}: {found[1]}.")


def _each_key_once(body: bytes, value: Any) -> bool:
    """False where a key comes twice, and at times where none does: then it is looked for.

    In a body without escapes and without space before colons, each key, and nothing else,
    is written as ``":``; writing the value anew counts the keys that were left of it.
    """
    if b"\\" not in body and not any(spaced in body for spaced in _SPACED_COLONS):
        return body.count(b'":') == msgspec.json.encode(value).count(b'":')
    return len(_KEY.findall(body)) == _keys_in(value)


def _keys_in(value: Any) -> int:
    count, rest = 0, [value] if isinstance(value, (dict, list)) else []
    while rest:
        part = rest.pop()
        if isinstance(part, dict):
            count += len(part)
        rest.extend(_inside(part))
    return count


class _Twice(dict[str, Any]):
    """An object in which a key came twice."""

    key: str


def _marked(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    value = dict(pairs)
    if len(value) == len(pairs):
        return value
    marked = _Twice(value)
    marked.key = Counter(key for key, _ in pairs).most_common(1)[0][0]
    return marked


def _refuse_duplicates(body: bytes) -> None:
    try:
        rest: list[tuple[str, Any]] = [("", json.loads(body, object_pairs_hook=_marked))]
    except RecursionError:
        raise _unreadable("json.too_deep", _TOO_DEEP) from None
    while rest:
        path, part = rest.pop()
        if isinstance(part, _Twice):
            place = pointer(path, part.key)
            raise _unreadable("json.duplicate_key", "This key comes twice in its object.", place)
        if isinstance(part, dict):
            rest.extend((pointer(path, key), inner) for key, inner in part.items())
        elif isinstance(part, list):
            rest.extend((f"{path}/{index}", inner) for index, inner in enumerate(part))
