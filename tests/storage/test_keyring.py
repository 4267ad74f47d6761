"""Does a key open its own organisation, while it holds, and nothing else?"""

from datetime import timedelta

import pytest

from service.domain.record import Principal, Refusal
from service.storage.keyring import UNKNOWN
from service.storage.keys import create_key, list_keys, revoke_key
from tests.storage.made import House


async def reason(house: House, key: str) -> tuple[str, str | None]:
    """Why a key opens nothing, and which credential it is."""
    found = await house.store.authenticate(key)
    assert isinstance(found, Refusal)
    assert found.detail == UNKNOWN
    return found.reason, None if found.known is None else found.known.credential


async def opens(house: House, key: str) -> bool:
    return isinstance(await house.store.authenticate(key), Principal)


async def test_other_words_open_nothing(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    prefix, secret = made.key.split(".")
    for word in ("", "x", ".", prefix, f"x.{secret}", "é.é", "a." + "b" * 10_000):
        assert await reason(house, word) == ("unknown_key", None)
    for word in (f"{prefix}.", f"{prefix}.{secret}x", f"{prefix}.{secret}."):
        assert await reason(house, word) == ("wrong_secret", made.info.id)


async def test_a_revoked_key_closes_within_a_minute(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    assert await opens(house, made.key)
    shown = revoke_key(house.path, house.clock, made.info.id)
    assert shown.revoked == house.clock.now
    house.clock.go_on(seconds=60)
    assert await reason(house, made.key) == ("revoked_key", made.info.id)
    assert revoke_key(house.path, house.clock, made.info.id) == shown


async def test_a_key_expires_to_the_moment_though_it_was_just_used(house: House) -> None:
    end = house.clock.now + timedelta(seconds=10)
    made = create_key(house.path, house.clock, house.by.org, "ward system", end)
    house.clock.go_on(seconds=9)
    assert await opens(house, made.key)
    house.clock.go_on(seconds=1)
    assert await reason(house, made.key) == ("expired_key", made.info.id)


async def test_many_keys_do_not_grow_what_is_remembered(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.storage.keyring._MOST_REMEMBERED", 2)
    for n in range(5):
        made = create_key(house.path, house.clock, house.by.org, f"system {n}")
        assert await opens(house, made.key)
    assert len(house.store._keyring._remembered) <= 2
    assert len(house.store._keyring._used) <= 2


async def test_the_day_of_the_last_use_is_kept_once_a_day(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    used = []
    for hours in (0, 1, 24):
        house.clock.go_on(hours=hours)
        assert await opens(house, made.key)
        used.append(list_keys(house.path)[0].last_used)
    assert used[0] is not None and used[2] is not None
    assert used[0] == used[1]
    assert (used[2].date() - used[0].date()).days == 1


async def test_a_refused_key_was_not_used(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    await reason(house, made.key + "x")
    assert list_keys(house.path)[0].last_used is None


async def test_a_key_opens_though_its_use_cannot_be_written(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    await house.store._writer.stop()
    assert await opens(house, made.key)
    assert list_keys(house.path)[0].last_used is None
