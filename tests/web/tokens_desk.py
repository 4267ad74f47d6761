"""What checks the tokens of the tests, at which time, and what do they claim?"""

from typing import Any

from msgspec import Struct

from service.domain.record import Principal, Refusal
from service.web.tokens import Tokens
from service.web.tokens_issuers import Issuer
from service.web.tokens_jwks import Keys, read_jwks
from service.web.tokens_keys import IssuerKeys
from tests.strategies import NOW
from tests.web.tokens_world import ec_key, jwk, jwks, rsa_key
from tests.web.world import Clock

ISSUER = "https://id.harbour.example/realm"
AUDIENCE = "https://stanchion.harbour.example/fhir/R4"
KEY, OTHER = rsa_key(), rsa_key()
EC = {alg: ec_key(alg) for alg in ("ES256", "ES384", "ES512")}
RSA_ALGORITHMS = [f"{kind}{bits}" for kind in ("RS", "PS") for bits in (256, 384, 512)]


class Desk(Struct):
    """What checks the tokens, its clock, and how often the keys were read."""

    tokens: Tokens
    clock: Clock
    read: list[str]

    async def refused(self, token: str) -> Refusal:
        found = await self.tokens.verify(token)
        assert isinstance(found, Refusal), found
        assert token not in found.detail
        return found

    async def reason(self, token: str) -> str:
        return (await self.refused(token)).reason

    async def opens(self, token: str) -> Principal:
        found = await self.tokens.verify(token)
        assert isinstance(found, Principal), found
        return found


def issuer(**more: Any) -> Issuer:
    named = {"issuer": ISSUER, "audience": AUDIENCE, "jwks": "keys", "token_endpoint": ISSUER}
    return Issuer(**({"organisation": "org-1"} | named | more))


def desk(*issuers: Issuer) -> Desk:
    published = read_jwks(
        jwks(jwk(KEY, "one"), *(jwk(key, alg) for alg, key in EC.items()), jwk(OTHER, "two"))
    )
    read: list[str] = []

    async def fetch(one: Issuer) -> Keys:
        read.append(one.issuer)
        return published

    clock = Clock(NOW)
    keys = [IssuerKeys(one, fetch, lambda: clock().timestamp()) for one in issuers or [issuer()]]
    return Desk(Tokens(keys, clock), clock, read)


def claims(**more: Any) -> dict[str, Any]:
    now = int(NOW.timestamp())
    said = {
        "iss": ISSUER,
        "aud": AUDIENCE,
        "sub": "ward-system",
        "exp": now + 300,
        "iat": now,
        "scope": "system/CarePlan.rs openid",
    } | more
    return {name: value for name, value in said.items() if value is not None}


def at(seconds: float) -> float:
    return NOW.timestamp() + seconds
