"""Does a token open its organisation while it is good, and does no other token open anything?

The tokens are made with another library than the one that checks them.
"""

import hashlib
import json
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from service.domain.record import Principal
from service.web.tokens import MOST_REMEMBERED
from tests.web.tokens_desk import (
    AUDIENCE,
    EC,
    ISSUER,
    KEY,
    OTHER,
    RSA_ALGORITHMS,
    at,
    claims,
    desk,
    issuer,
)
from tests.web.tokens_world import b64, ec_key, signed


async def test_a_good_token_says_who_calls_for_whom_and_what_it_may_do() -> None:
    found = await desk().opens(signed(KEY, claims(client_id="board")))
    digest = hashlib.sha256(f"{ISSUER}|ward-system".encode()).hexdigest()
    scopes = frozenset({"CarePlan.r", "CarePlan.s"})
    assert found == Principal("org-1", f"token-{digest[:32]}", "board", scopes)


async def test_a_caller_is_the_same_with_each_of_its_tokens_and_no_other() -> None:
    second = "https://id.lakeside.example"
    both = desk(issuer(), issuer(issuer=second))
    said = [{}, {"jti": "2"}, {"sub": "other"}, {"iss": second}]
    found = [(await both.opens(signed(KEY, claims(**one)))).credential for one in said]
    assert found[0] == found[1]
    assert len(set(found)) == 3


@pytest.mark.parametrize("alg", RSA_ALGORITHMS)
async def test_every_rsa_signature_of_another_library_is_checked(alg: str) -> None:
    assert (await desk().opens(signed(KEY, claims(), alg))).org == "org-1"
    assert await desk().reason(signed(OTHER, claims(), alg)) == "bad_signature"


@pytest.mark.parametrize("alg", list(EC))
async def test_every_curve_of_another_library_is_checked(alg: str) -> None:
    assert (await desk().opens(signed(EC[alg], claims(), alg, kid=alg))).org == "org-1"
    forged = signed(ec_key(alg), claims(), alg, kid=alg)
    assert await desk().reason(forged) == "bad_signature"


async def test_a_key_is_used_for_its_own_kind_of_signature_only() -> None:
    assert await desk().reason(signed(KEY, claims(), kid="ES256")) == "bad_signature"
    crossed = signed(EC["ES256"], claims(), "ES256", kid="ES384")
    assert await desk().reason(crossed) == "bad_signature"
    crossed = signed(EC["ES256"], claims(), "ES256", kid="one")
    assert await desk().reason(crossed) == "bad_signature"
    zero = signed(EC["ES256"], claims(), "ES256", kid="ES256").rsplit(".", 1)[0]
    assert await desk().reason(f"{zero}.{b64(bytes(64))}") == "bad_signature"


async def test_a_changed_claim_or_signature_breaks_the_seal() -> None:
    head, body, mark = signed(KEY, claims(scope="system/CarePlan.r")).split(".")
    richer = b64(json.dumps(claims(scope="system/*.cruds")).encode())
    assert await desk().reason(f"{head}.{richer}.{mark}") == "bad_signature"
    flipped = ("B" if mark[0] == "A" else "A") + mark[1:]
    assert await desk().reason(f"{head}.{body}.{flipped}") == "bad_signature"


@pytest.mark.parametrize("iss", ["https://id.harbour.example/realm/", "", None, 5, ["x", ISSUER]])
async def test_another_issuer_is_refused_before_any_key_is_read(iss: Any) -> None:
    place = desk()
    assert await place.reason(signed(KEY, claims(iss=iss))) == "unknown_issuer"
    assert place.read == []


@pytest.mark.parametrize("aud", ["https://other.example", None, "", [], [AUDIENCE + "/"], 5, {}])
async def test_a_token_for_another_service_is_refused(aud: Any) -> None:
    refusal = await desk().refused(signed(KEY, claims(aud=aud)))
    assert refusal.reason == "audience"
    assert refusal.known is not None and refusal.known.org == "org-1"


async def test_one_audience_of_several_is_enough() -> None:
    await desk().opens(signed(KEY, claims(aud=["https://other.example", AUDIENCE])))


@pytest.mark.parametrize(
    ("said", "reason"),
    [
        ({"exp": at(-59)}, ""),
        ({"exp": at(-60)}, "expired_token"),
        ({"exp": None}, "times"),
        ({"exp": "soon"}, "times"),
        ({"exp": True}, "times"),
        ({"exp": -1}, "times"),
        ({"exp": 10**30}, "times"),
        ({"exp": at(300) + 0.5}, ""),
        ({"nbf": at(60)}, ""),
        ({"nbf": at(61)}, "early_token"),
        ({"nbf": "now"}, "times"),
        ({"iat": at(60)}, ""),
        ({"iat": at(61)}, "early_token"),
        ({"iat": None}, ""),
        ({"cnf": {"jkt": "x"}}, "bound_token"),
        ({"sub": None}, "no_subject"),
        ({"sub": "a\nb"}, "no_subject"),
        ({"sub": None, "client_id": "board"}, ""),
    ],
)
async def test_a_token_is_good_in_its_time_and_a_minute_round_it(
    said: dict[str, Any], reason: str
) -> None:
    token = signed(KEY, claims(**said))
    if reason:
        assert await desk().reason(token) == reason
    else:
        await desk().opens(token)


async def test_the_skew_is_what_was_set() -> None:
    exact = desk(issuer(clock_skew_s=0))
    assert await exact.reason(signed(KEY, claims(exp=at(0)))) == "expired_token"
    await exact.opens(signed(KEY, claims(exp=at(1))))


async def test_scopes_are_read_from_a_list_too_and_nothing_from_anything_else() -> None:
    for said in (
        {"scp": ["system/Goal.r", 5]},
        {"scp": "system/Goal.r"},
        {"scope": ["system/Goal.r"]},
    ):
        found = await desk().opens(signed(KEY, claims(**({"scope": None} | said))))
        assert found.scopes == {"Goal.r"}
    for none in (5, None, {"system/*.r": 1}):
        assert (await desk().opens(signed(KEY, claims(scope=none)))).scopes == frozenset()


async def test_a_claim_names_the_organisation_of_a_shared_issuer() -> None:
    shared = desk(
        issuer(organisation=None, organisation_claim="site", organisations={"east": "org-7"})
    )
    assert (await shared.opens(signed(KEY, claims(site="east")))).org == "org-7"
    for site in ("west", None, ["east"], {"east": 1}, "org-7"):
        assert await shared.reason(signed(KEY, claims(site=site))) == "no_organisation"


async def test_each_issuer_speaks_for_its_own_organisation_alone() -> None:
    second = "https://id.lakeside.example"
    both = desk(issuer(), issuer(issuer=second, organisation="org-2"))
    assert (await both.opens(signed(KEY, claims()))).org == "org-1"
    assert (await both.opens(signed(KEY, claims(iss=second)))).org == "org-2"
    assert sorted(both.read) == sorted([ISSUER, second])


async def test_a_good_token_is_remembered_for_a_minute_and_never_past_its_end(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    checked: list[str] = []
    monkeypatch.setattr("service.web.tokens._signed", _counting(checked))
    place = desk(issuer(clock_skew_s=0))
    long, short = signed(KEY, claims()), signed(KEY, claims(exp=at(10), sub="short"))
    for token in (long, long, short, short):
        await place.opens(token)
    assert len(checked) == 2
    place.clock.pass_time(timedelta(seconds=10))
    assert await place.reason(short) == "expired_token"
    await place.opens(long)
    assert len(checked) == 3
    place.clock.pass_time(timedelta(seconds=50))
    await place.opens(long)
    assert len(checked) == 4
    place.clock.pass_time(timedelta(seconds=-51))
    await place.opens(long)
    assert len(checked) == 5


async def test_refused_tokens_are_not_remembered_and_good_ones_are_bounded(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("service.web.tokens.MOST_REMEMBERED", 2)
    place = desk()
    await place.reason(signed(OTHER, claims()))
    assert place.tokens._remembered == {}
    for n in range(5):
        await place.opens(signed(KEY, claims(jti=str(n))))
    assert len(place.tokens._remembered) <= 2
    assert MOST_REMEMBERED <= 10_000


def _counting(checked: list[str]) -> Callable[..., bool]:
    def signs(token: str, *_: Any) -> bool:
        checked.append(token)
        return True

    return signs
