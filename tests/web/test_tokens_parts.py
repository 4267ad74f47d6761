"""Is a token refused for what it says of itself, before any of it is believed?

The attacks are those of RFC 8725 and of the texts of RFC 7515 and 7519.
"""

import base64
import hashlib
import hmac
import json
from typing import Any

import pytest
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from tests.web.tokens_desk import ISSUER, KEY, claims, desk
from tests.web.tokens_world import b64, jwk, rsa_key, signed


@pytest.mark.parametrize("alg", ["none", "None", "NONE", "nOnE", "", "HS256", "HS512", "EdDSA", 1])
async def test_an_unsigned_token_opens_nothing_whatever_it_calls_itself(alg: Any) -> None:
    head = b64(json.dumps({"alg": alg, "kid": "one"}).encode())
    body = b64(json.dumps(claims()).encode())
    assert await desk().reason(f"{head}.{body}.") == "no_token"
    assert await desk().reason(f"{head}.{body}.AAAA") == "algorithm"


@pytest.mark.parametrize("form", [PublicFormat.SubjectPublicKeyInfo, PublicFormat.PKCS1])
@pytest.mark.parametrize("encoding", [Encoding.PEM, Encoding.DER])
async def test_the_public_key_is_no_shared_secret(form: PublicFormat, encoding: Encoding) -> None:
    secret = KEY.public_key().public_bytes(encoding, form)
    head = b64(json.dumps({"alg": "HS256", "kid": "one"}).encode())
    text = f"{head}.{b64(json.dumps(claims()).encode())}"
    mac = hmac.new(secret, text.encode(), hashlib.sha256).digest()
    assert await desk().reason(f"{text}.{b64(mac)}") == "algorithm"


@pytest.mark.parametrize(
    "kid", ["", "three", "../../dev/null", "' OR 1=1 --", "one\0", "http://x/", "a" * 513, 1, None]
)
async def test_a_key_id_leads_to_a_published_key_or_nowhere(kid: Any) -> None:
    token = signed(KEY, claims(), kid=kid)
    assert await desk().reason(token) in ("no_key_id", "bad_signature")


async def test_what_a_header_brings_along_is_never_looked_at() -> None:
    forger = rsa_key()
    brought: dict[str, Any] = {
        "jwk": jwk(forger, "one"),
        "jku": "http://127.0.0.1:1/jwks",
        "x5u": "http://127.0.0.1:1/cert",
        "x5c": [base64.b64encode(b"certificate").decode()],
    }
    for name, value in brought.items():
        place = desk()
        assert await place.reason(signed(forger, claims(), **{name: value})) == "bad_signature"
        await place.opens(signed(KEY, claims(), **{name: value}))
        assert place.read == [ISSUER]


@pytest.mark.parametrize(
    "header", [{"crit": ["exp"]}, {"crit": []}, {"b64": False}, {"b64": False, "crit": ["b64"]}]
)
async def test_a_header_that_must_be_understood_is_refused(header: dict[str, Any]) -> None:
    assert await desk().reason(signed(KEY, claims(), **header)) == "critical_header"


@pytest.mark.parametrize("kind", ["JWT", "jwt", "at+jwt", "application/at+jwt", None])
async def test_the_usual_types_are_taken(kind: str | None) -> None:
    await desk().opens(signed(KEY, claims(), typ=kind))


@pytest.mark.parametrize("kind", ["logout+jwt", "dpop+jwt", "JWE", 5, ["JWT"]])
async def test_a_token_for_another_purpose_is_not(kind: Any) -> None:
    assert await desk().reason(signed(KEY, claims(), typ=kind)) == "token_type"


async def test_what_is_no_compact_token_is_refused() -> None:
    good = signed(KEY, claims())
    head, body, mark = good.split(".")
    twice = json.dumps(
        {"payload": body, "signatures": [{"protected": head, "signature": mark}] * 2}
    )
    for text in (
        twice,
        f"{good}.{mark}",
        f"{head}.{body}.{mark}.{head}.{body}",
        f"{head}.{body}",
        f"{head}.{body}.{mark}=",
        f" {good}",
        f"{good}\n",
        f"{head}..{mark}",
        "..",
        f"{b64(b'[]')}.{body}.{mark}",
        f"{head}.{b64(b'5')}.{mark}",
        f"{b64(b'{')}.{body}.{mark}",
        f"{head}.{b64(b'[' * 5000)}.{mark}",
    ):
        assert await desk().reason(text) == "no_token", text


async def test_a_name_that_stands_twice_is_not_guessed_at() -> None:
    said = json.dumps(claims())[:-1] + ',"iss":"https://other.example"}'
    good = signed(KEY, claims())
    head, _, mark = good.split(".")
    assert await desk().reason(f"{head}.{b64(said.encode())}.{mark}") == "no_token"


async def test_a_token_without_end_is_not_read() -> None:
    token = signed(KEY, claims(more="x" * 20_000))
    assert await desk().reason(token) == "long_token"
