"""Which of an issuer's published keys may check a signature?"""

import logging
from typing import Any

import msgspec
from joserfc.errors import JoseError
from joserfc.jwk import ECKey, RSAKey
from joserfc.util import base64_to_int
from msgspec import Struct

from service.web.tokens_parts import LONGEST_ID

MOST_KEYS = 100
LEAST_RSA_BITS = 2048
MOST_RSA_BITS = 8192

_CURVES = {"P-256": "ES256", "P-384": "ES384", "P-521": "ES512"}
_RSA = frozenset(f"{kind}{bits}" for kind in ("RS", "PS") for bits in (256, 384, 512))
_PUBLIC = {"RSA": ("n", "e"), "EC": ("crv", "x", "y")}
_log = logging.getLogger("stanchion.security")


class BadKeys(Exception):
    """What was published holds no key that can be used; the text says why."""


class PublicKey(Struct, frozen=True):
    """``algorithms``: those that it may check."""

    algorithms: frozenset[str]
    key: RSAKey | ECKey


class KeySet(Struct, frozen=True):
    keys: list[Any]


Keys = dict[str, tuple[PublicKey, ...]]
"""By key id; an id that stands twice has each of its keys tried."""


def read_jwks(body: bytes) -> Keys:
    """The keys in a JWK Set that can check a signature; others are passed over, as RFC 7517
    asks. Raises BadKeys."""
    try:
        listed = msgspec.json.decode(body, type=KeySet).keys
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError):
        raise BadKeys("It is no JWK Set.") from None
    if len(listed) > MOST_KEYS:
        raise BadKeys(f"It has more than {MOST_KEYS} keys.")
    keys: Keys = {}
    for entry in listed:
        key = _key(entry) if isinstance(entry, dict) else None
        if key is not None:
            keys[entry["kid"]] = (*keys.get(entry["kid"], ()), key)
    if not keys:
        raise BadKeys("It has no key that can be used.")
    return keys


def _key(entry: dict[str, Any]) -> PublicKey | None:
    kind, key_id = entry.get("kty"), entry.get("kid")
    if (
        kind not in ("RSA", "EC")
        or not isinstance(key_id, str)
        or not 0 < len(key_id) <= LONGEST_ID
    ):
        return None
    if entry.get("use", "sig") != "sig" or not _for_checking(entry.get("key_ops")):
        return None
    if "d" in entry:
        _log.error("an issuer publishes a private key; it is not trusted")
        return None
    public = {"kty": kind} | {name: entry.get(name) for name in _PUBLIC[kind]}
    try:
        key, algorithms = _rsa(public) if kind == "RSA" else _ec(public)
    except (JoseError, ValueError, TypeError):
        return None
    if "alg" in entry:
        algorithms = frozenset(one for one in algorithms if one == entry["alg"])
    return PublicKey(algorithms, key) if algorithms else None


def _rsa(public: dict[str, Any]) -> tuple[RSAKey, frozenset[str]]:
    if not LEAST_RSA_BITS <= base64_to_int(public["n"]).bit_length() <= MOST_RSA_BITS:
        raise ValueError("the modulus is too short or too long")
    return RSAKey.import_key(public), _RSA


def _ec(public: dict[str, Any]) -> tuple[ECKey, frozenset[str]]:
    key = ECKey.import_key(public)
    return key, frozenset({_CURVES[key.curve_name]} if key.curve_name in _CURVES else ())


def _for_checking(operations: Any) -> bool:
    return operations is None or (isinstance(operations, list) and "verify" in operations)
