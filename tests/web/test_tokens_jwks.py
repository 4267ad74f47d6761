"""Is a published key used for what it is for, and passed over where it cannot be trusted?"""

import json
from typing import Any

import pytest

from service.web.tokens_jwks import MOST_KEYS, BadKeys, read_jwks
from tests.web.tokens_world import ec_key, jwk, jwks, number, rsa_key

KEY = rsa_key()
RSA = jwk(KEY, "one")
EC = jwk(ec_key("ES256"), "two")


def algorithms(**more: Any) -> list[str]:
    (key,) = read_jwks(jwks({**RSA, **more}))["one"]
    return sorted(key.algorithms)


def test_a_key_checks_the_signatures_of_its_kind() -> None:
    keys = read_jwks(jwks(RSA, EC))
    assert sorted(keys["one"][0].algorithms) == [
        "PS256", "PS384", "PS512", "RS256", "RS384", "RS512",
    ]  # fmt: skip
    assert keys["two"][0].algorithms == {"ES256"}
    for alg in ("ES384", "ES512"):
        (key,) = read_jwks(jwks(jwk(ec_key(alg), "x")))["x"]
        assert key.algorithms == {alg}


def test_a_key_that_names_its_algorithm_checks_no_other() -> None:
    assert algorithms(alg="RS384") == ["RS384"]
    assert algorithms(use="sig", key_ops=["verify"])


@pytest.mark.parametrize(
    "odd",
    [
        {**RSA, "use": "enc"},
        {**RSA, "use": 5},
        {**RSA, "key_ops": ["sign"]},
        {**RSA, "key_ops": "verify"},
        {**RSA, "alg": "HS256"},
        {**RSA, "alg": ["RS256"]},
        {**RSA, "kid": ""},
        {**RSA, "kid": 7},
        {**RSA, "kid": "k" * 513},
        {**RSA, "n": "!"},
        {**RSA, "n": 5},
        {**RSA, "e": "AA"},
        {**RSA, "d": "AQAB"},
        {"kty": "RSA", "kid": "one"},
        {"kty": "oct", "kid": "one", "k": "c2VjcmV0"},
        {"kty": "OKP", "kid": "one", "crv": "Ed25519", "x": "AA"},
        {"kty": ["RSA"], "kid": "one"},
        {**EC, "crv": "secp256k1"},
        {**EC, "crv": "P-384"},
        {**EC, "x": EC["y"]},
        {"kid": "one"},
        5,
        None,
    ],
)
def test_what_cannot_be_trusted_is_passed_over_and_the_rest_used(odd: Any) -> None:
    other = jwk(rsa_key(), "good")
    assert list(read_jwks(json.dumps({"keys": [odd, other]}).encode())) == ["good"]
    with pytest.raises(BadKeys, match="no key that can be used"):
        read_jwks(json.dumps({"keys": [odd]}).encode())


def test_a_short_modulus_is_passed_over() -> None:
    public = KEY.public_key().public_numbers()
    short = {**RSA, "kid": "short", "n": number(public.n >> 1025)}
    assert list(read_jwks(jwks(short, RSA))) == ["one"]


def test_a_long_modulus_is_no_way_to_keep_the_service_busy() -> None:
    public = KEY.public_key().public_numbers()
    long = {**RSA, "kid": "long", "n": number((public.n << 8192) + 1)}
    assert list(read_jwks(jwks(long, RSA))) == ["one"]


def test_two_keys_may_share_an_id() -> None:
    keys = read_jwks(jwks(RSA, jwk(rsa_key(), "one"), {**EC, "kid": "one"}))
    assert [len(key.algorithms) for key in keys["one"]] == [6, 6, 1]


@pytest.mark.parametrize(
    "body", [b"", b"{}", b"[]", b'{"keys": {}}', b"\xff", b"[" * 10_000, b'{"keys": []}']
)
def test_what_is_no_set_is_refused(body: bytes) -> None:
    with pytest.raises(BadKeys):
        read_jwks(body)


def test_a_set_without_end_is_refused() -> None:
    with pytest.raises(BadKeys, match=str(MOST_KEYS)):
        read_jwks(jwks(*[RSA] * (MOST_KEYS + 1)))


def test_a_private_key_is_told_to_the_log_without_itself(caplog: pytest.LogCaptureFixture) -> None:
    read_jwks(jwks({**RSA, "kid": "x", "d": "c2VjcmV0"}, RSA))
    assert "publishes a private key" in caplog.text
    assert "c2VjcmV0" not in caplog.text
