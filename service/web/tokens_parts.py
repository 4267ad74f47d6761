"""What does a token say, before any of it is believed?"""

import re
from typing import Any

from joserfc.errors import JoseError
from joserfc.util import urlsafe_b64decode
from msgspec import Struct

from service.domain.json_text import parse, refuse_depth
from service.domain.problem import Problem
from service.domain.record import Refusal

LONGEST_TOKEN = 16_384
LONGEST_ID = 512
ALGORITHMS = frozenset(f"{kind}{bits}" for kind in ("RS", "ES", "PS") for bits in (256, 384, 512))
"""Signatures by a key pair only: with a shared secret whoever can check could also sign."""

_TOKEN = re.compile(r"[A-Za-z0-9_-]+\.[A-Za-z0-9_-]+\.[A-Za-z0-9_-]+")
_TYPES = ("jwt", "at+jwt", "application/at+jwt", "application/jwt")


class Parts(Struct, frozen=True):
    """``key_id``, ``algorithm``: what its header says it was signed with."""

    key_id: str
    algorithm: str
    claims: dict[str, Any]


def parts_of(token: str) -> Parts | Refusal:
    """The parts of a signed token in the compact form. Addresses and keys that a header brings
    along (``jku``, ``x5u``, ``x5c``, ``jwk``) are never looked at."""
    if len(token) > LONGEST_TOKEN:
        return refused("long_token", f"A token may have {LONGEST_TOKEN} characters at most.")
    if not _TOKEN.fullmatch(token):
        return refused("no_token", "This is no signed token in the compact form.")
    header, claims = (_object(part) for part in token.split(".")[:2])
    if header is None or claims is None:
        return refused("no_token", "The header and the claims of a token must each be an object.")
    return _fault_of(header) or Parts(header["kid"], header["alg"], claims)


def refused(reason: str, detail: str) -> Refusal:
    return Refusal(reason, detail)


def _fault_of(header: dict[str, Any]) -> Refusal | None:
    if header.get("alg") not in ALGORITHMS:
        said = "Sign it with RS, ES or PS and 256, 384 or 512."
        return refused("algorithm", f"This algorithm is not accepted. {said}")
    if "crit" in header or "b64" in header:
        return refused("critical_header", "A token with crit or b64 in its header is not accepted.")
    kind = header.get("typ", "jwt")
    if not isinstance(kind, str) or kind.lower() not in _TYPES:
        return refused("token_type", "The typ of a token must be JWT or at+jwt, or left out.")
    key_id = header.get("kid")
    if not isinstance(key_id, str) or not 0 < len(key_id) <= LONGEST_ID:
        return refused("no_key_id", "The header of a token must name its key: kid.")
    return None


def _object(part: str) -> dict[str, Any] | None:
    """The object that a part is; None where it is none, or where a name stands twice in it."""
    try:
        value = parse(urlsafe_b64decode(part.encode()))
        refuse_depth(value)
    except (Problem, JoseError, ValueError):
        return None
    return value if isinstance(value, dict) else None
