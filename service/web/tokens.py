"""Whose is the access token that was presented, and is it good now?"""

import hashlib
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import Any

from joserfc.errors import JoseError
from joserfc.jws import JWSRegistry, deserialize_compact
from msgspec import Struct
from msgspec.structs import replace

from service.application.ports import Clock
from service.domain.record import Principal, Refusal
from service.domain.scope import granted
from service.web.tokens_issuers import Issuer
from service.web.tokens_jwks import PublicKey
from service.web.tokens_keys import IssuerKeys
from service.web.tokens_parts import ALGORITHMS, LONGEST_ID, LONGEST_TOKEN, Parts, parts_of, refused

REMEMBERED_SECONDS = 60.0
MOST_REMEMBERED = 4096


class _Registry(JWSRegistry):
    """The library's own limit is short of a header that carries a certificate along."""

    max_header_length = LONGEST_TOKEN


_REGISTRY = _Registry(algorithms=sorted(ALGORITHMS), strict_check_header=False)


class _Remembered(Struct, frozen=True):
    since: float
    until: float
    principal: Principal


class Tokens:
    """Remembers a good token, by its digest, for a minute at most and never past its end."""

    def __init__(self, keys: Iterable[IssuerKeys], clock: Clock) -> None:
        self._issuers = {one.issuer.issuer: one for one in keys}
        self._clock = clock
        self._remembered: dict[bytes, _Remembered] = {}

    async def verify(self, token: str) -> Principal | Refusal:
        """Whose token it is, or why it opens nothing. Raises Unavailable where the keys to check
        it with cannot be had."""
        digest = hashlib.sha256(token.encode()).digest()
        known = self._remembered.get(digest)
        if known is not None and known.since <= _seconds(self._clock()) < known.until:
            return known.principal
        parts = parts_of(token)
        if isinstance(parts, Refusal):
            return parts
        trusted = self._issuers.get(_text(parts.claims, "iss"))
        if trusted is None:
            return refused("unknown_issuer", "Tokens of this issuer are not accepted here.")
        fitting = [
            one for one in await trusted.of(parts.key_id) if parts.algorithm in one.algorithms
        ]
        if not any(_signed(token, parts, one) for one in fitting):
            return refused("bad_signature", "The token is not signed by a key of its issuer.")
        return self._judged(digest, trusted.issuer, parts.claims)

    def warnings(self) -> tuple[str, ...]:
        """What those who run the service should know, one line an issuer."""
        said = [(one.issuer.issuer, one.look()) for one in self._issuers.values()]
        return tuple(f"{name}: {text}" for name, text in said if text)

    def _judged(self, digest: bytes, issuer: Issuer, claims: dict[str, Any]) -> Principal | Refusal:
        """What a token that its issuer signed is worth at this moment."""
        principal = _principal(issuer, claims)
        if isinstance(principal, Refusal):
            return principal
        now = _seconds(self._clock())
        fault = _fault(issuer, claims, now)
        if fault is not None:
            return replace(fault, known=principal)
        until = min(now + REMEMBERED_SECONDS, float(claims["exp"]))
        if until > now:
            if len(self._remembered) >= MOST_REMEMBERED:
                self._remembered.clear()
            self._remembered[digest] = _Remembered(now, until, principal)
        return principal


def _signed(token: str, parts: Parts, by: PublicKey) -> bool:
    try:
        deserialize_compact(token, by.key, [parts.algorithm], _REGISTRY)
    except (JoseError, ValueError):
        return False
    return True


def _principal(issuer: Issuer, claims: dict[str, Any]) -> Principal | Refusal:
    org = issuer.org_of(claims)
    if org is None:
        return refused("no_organisation", "The token does not say for which organisation it is.")
    client = _text(claims, "client_id") or _text(claims, "azp")
    subject = _text(claims, "sub") or client
    if not subject or not subject.isprintable():
        return refused("no_subject", "The token must say whom it was given to: sub or client_id.")
    name = client if client and client.isprintable() else subject
    return Principal(org, _credential(issuer, subject), name, granted(_scopes(claims)))


def _credential(issuer: Issuer, subject: str) -> str:
    """Who it was given to, the same for each of his tokens, and opaque: it stands in logs."""
    return f"token-{hashlib.sha256(f'{issuer.issuer}|{subject}'.encode()).hexdigest()[:32]}"


def _fault(issuer: Issuer, claims: dict[str, Any], now: float) -> Refusal | None:
    audience = claims.get("aud")
    named = audience if isinstance(audience, list) else [audience]
    if issuer.audience not in named:
        return refused("audience", "The token was given for another service: see its aud.")
    if "cnf" in claims:
        return refused("bound_token", "A token that is bound to a key (cnf) is not accepted.")
    times = {name: claims[name] for name in ("exp", "nbf", "iat") if name in claims}
    if not all(map(_is_time, times.values())) or "exp" not in times:
        return refused("times", "The token needs exp, and exp, nbf and iat must be numbers.")
    if now >= times["exp"] + issuer.clock_skew_s:
        return refused("expired_token", "The token has run out: ask for a new one.")
    if max(times.get("nbf", now), times.get("iat", now)) > now + issuer.clock_skew_s:
        return refused("early_token", "The token is not good yet: see its nbf and iat.")
    return None


def _is_time(value: Any) -> bool:
    """A number of seconds, written with a fraction or without."""
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        return False
    return 0 <= value < 2**53


def _text(claims: dict[str, Any], name: str) -> str:
    value = claims.get(name)
    return value if isinstance(value, str) and len(value) <= LONGEST_ID else ""


def _scopes(claims: dict[str, Any]) -> str:
    """``scope`` as RFC 8693 has it; some issuers call it ``scp``, or make it a list."""
    said = claims.get("scope", claims.get("scp"))
    if isinstance(said, list):
        said = " ".join(word for word in said if isinstance(word, str))
    return said if isinstance(said, str) else ""


def _seconds(time: datetime) -> float:
    return time.timestamp()
