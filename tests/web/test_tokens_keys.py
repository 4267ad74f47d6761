"""Are keys changed when the issuer changes them, and held on to when it is out of reach?"""

import asyncio

import pytest

from service.domain.problem import Unavailable
from service.domain.record import Principal, Refusal
from service.web.tokens import Tokens
from service.web.tokens_fetch import fetch_keys
from service.web.tokens_issuers import Issuer
from service.web.tokens_jwks import BadKeys, Keys, read_jwks
from service.web.tokens_keys import FRESH_SECONDS, HELD_SECONDS, PAUSE_SECONDS, IssuerKeys
from tests.strategies import NOW
from tests.web.tokens_desk import claims, issuer
from tests.web.tokens_world import jwk, jwks, key_server, rsa_key, signed
from tests.web.world import Clock

OLD, NEW = rsa_key(), rsa_key()


class Source:
    """An issuer whose keys, state and time the test sets."""

    def __init__(self) -> None:
        self.now = 1000.0
        self.asked = 0
        self.down = False
        self.keys: Keys = read_jwks(jwks(jwk(OLD, "old")))
        self.gate = asyncio.Event()
        self.gate.set()
        self.of = IssuerKeys(issuer(), self.fetch, lambda: self.now)

    async def fetch(self, _: Issuer) -> Keys:
        self.asked += 1
        await self.gate.wait()
        if self.down:
            raise BadKeys("It is gone.")
        return self.keys

    async def has(self, key_id: str) -> bool:
        return bool(await self.of.of(key_id))

    async def settled(self) -> None:
        """What runs beside the requests is done."""
        for _ in range(5):
            await asyncio.sleep(0)


async def test_a_set_is_read_once_and_then_used() -> None:
    source = Source()
    assert [await source.has("old") for _ in range(3)] == [True] * 3
    assert source.asked == 1


async def test_many_at_once_make_one_reading() -> None:
    source = Source()
    source.gate.clear()
    asking = [asyncio.create_task(source.has("old")) for _ in range(20)]
    await source.settled()
    source.gate.set()
    assert await asyncio.gather(*asking) == [True] * 20
    assert source.asked == 1


async def test_one_who_goes_away_does_not_stop_the_reading_for_the_others() -> None:
    source = Source()
    source.gate.clear()
    first, second = (asyncio.create_task(source.has("old")) for _ in range(2))
    await source.settled()
    first.cancel()
    await source.settled()
    source.gate.set()
    assert await second is True


async def test_a_new_key_is_taken_at_once_and_an_unknown_one_does_not_make_it_ask_and_ask() -> None:
    source = Source()
    assert await source.has("old")
    source.keys = read_jwks(jwks(jwk(OLD, "old"), jwk(NEW, "new")))
    source.now += PAUSE_SECONDS
    assert await source.has("new")
    assert source.asked == 2
    for _ in range(50):
        assert not await source.has("made up")
    assert source.asked == 2
    source.now += PAUSE_SECONDS
    for _ in range(50):
        assert not await source.has("made up")
    assert source.asked == 3


async def test_a_key_that_was_taken_back_is_gone_after_the_next_reading() -> None:
    source = Source()
    assert await source.has("old")
    source.keys = read_jwks(jwks(jwk(NEW, "new")))
    source.now += FRESH_SECONDS
    assert await source.has("old")  # answered at once, read anew beside it
    await source.settled()
    assert not await source.has("old")
    assert await source.has("new")


async def test_an_issuer_out_of_reach_is_bridged_for_a_while_and_told_of() -> None:
    source = Source()
    assert await source.has("old")
    assert source.of.look() == ""
    source.down = True
    source.now += FRESH_SECONDS
    assert await source.has("old")
    await source.settled()
    assert source.of.look() == "keys of 5 minutes ago are held on to: It is gone."
    with pytest.raises(Unavailable):
        await source.has("new")
    source.now += HELD_SECONDS - FRESH_SECONDS - 1
    assert await source.has("old")
    await source.settled()
    source.now += 1
    with pytest.raises(Unavailable) as refused:
        await source.has("old")
    assert refused.value.retry_after_s == PAUSE_SECONDS
    assert source.of.look() == "no keys to check tokens with: It is gone."
    source.down = False
    source.now += PAUSE_SECONDS
    assert await source.has("old")
    assert source.of.look() == ""


async def test_before_any_reading_it_says_so_and_begins() -> None:
    source = Source()
    assert source.of.look() == "no keys to check tokens with: not read yet."
    await source.settled()
    assert (source.of.look(), source.asked) == ("", 1)


async def test_an_issuer_that_was_never_there_is_not_asked_without_pause() -> None:
    source = Source()
    source.down = True
    for _ in range(30):
        with pytest.raises(Unavailable):
            await source.has("old")
    assert source.asked == 1


async def test_an_outage_is_told_to_the_log_once(caplog: pytest.LogCaptureFixture) -> None:
    source = Source()
    source.down = True
    for _ in range(4):
        with pytest.raises(Unavailable):
            await source.has("old")
        source.now += PAUSE_SECONDS
    source.down = False
    assert await source.has("old")
    assert caplog.text.count("cannot be read") == 1
    assert caplog.text.count("can be read again") == 1


async def test_rotation_and_outage_at_a_real_server() -> None:
    clock = Clock(NOW)
    with key_server() as server:
        server.body = jwks(jwk(OLD, "old"))
        keys = IssuerKeys(issuer(jwks=server.url), fetch_keys, lambda: clock.now.timestamp() * 1.0)
        tokens = Tokens([keys], clock)
        assert isinstance(await tokens.verify(signed(OLD, claims(), kid="old")), Principal)
        server.body = jwks(jwk(NEW, "new"))
        clock.now = clock.now.replace(second=clock.now.second + 11)
        assert isinstance(await tokens.verify(signed(NEW, claims(), kid="new")), Principal)
        gone = await tokens.verify(signed(OLD, claims(jti="2"), kid="old"))
        assert isinstance(gone, Refusal) and gone.reason == "bad_signature"
    # the server is gone
    clock.now = clock.now.replace(second=clock.now.second + 11)
    held = await tokens.verify(signed(NEW, claims(jti="3"), kid="new"))
    assert isinstance(held, Principal)
    with pytest.raises(Unavailable):
        await tokens.verify(signed(NEW, claims(jti="4"), kid="newer"))
    (said,) = tokens.warnings()
    assert "held on to: It cannot be read: ConnectError." in said
