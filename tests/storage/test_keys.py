"""Does a key open its own organisation, while it holds, and nothing else?"""

import sqlite3
from contextlib import closing
from datetime import timedelta

import pytest

from service.domain.record import Principal
from service.storage.keys import create_key, list_keys, revoke_key
from service.storage.verify import verify_audit
from tests.storage.made import House


async def test_a_key_opens_its_organisation_under_its_own_name(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    assert await house.store.authenticate(made.key) == Principal(
        house.by.org, made.info.id, "ward system"
    )
    assert list_keys(house.path, house.by.org) == (made.info,)
    assert list_keys(house.path, "another") == ()


async def test_the_secret_is_nowhere_in_the_file(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    with closing(sqlite3.connect(house.path)) as connection:
        dump = "\n".join(connection.iterdump())
    assert made.info.prefix in dump
    assert made.key.split(".")[1] not in dump
    assert made.key.split(".")[1].encode().hex().upper() not in dump.upper()


async def test_other_words_open_nothing(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    prefix, secret = made.key.split(".")
    for word in ("", "x", ".", prefix, f"{prefix}.", f"{prefix}.{secret}x", f"x.{secret}", "é.é"):
        assert await house.store.authenticate(word) is None
    assert await house.store.authenticate("a." + "b" * 10_000) is None


async def test_a_revoked_key_closes_within_a_minute(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    assert await house.store.authenticate(made.key) is not None
    shown = revoke_key(house.path, house.clock, made.info.id)
    assert shown.revoked == house.clock.now
    house.clock.go_on(seconds=60)
    assert await house.store.authenticate(made.key) is None
    assert revoke_key(house.path, house.clock, made.info.id) == shown


async def test_a_key_expires_to_the_moment_though_it_was_just_used(house: House) -> None:
    end = house.clock.now + timedelta(seconds=10)
    made = create_key(house.path, house.clock, house.by.org, "ward system", end)
    house.clock.go_on(seconds=9)
    assert await house.store.authenticate(made.key) is not None
    house.clock.go_on(seconds=1)
    assert await house.store.authenticate(made.key) is None


async def test_a_key_needs_a_name_an_organisation_and_a_future(house: House) -> None:
    with pytest.raises(LookupError, match="no organisation"):
        create_key(house.path, house.clock, "nowhere", "ward system")
    with pytest.raises(ValueError, match="name"):
        create_key(house.path, house.clock, house.by.org, " ")
    with pytest.raises(ValueError, match="expired"):
        create_key(house.path, house.clock, house.by.org, "ward system", house.clock.now)
    with pytest.raises(LookupError, match="no key"):
        revoke_key(house.path, house.clock, "nothing")
    assert list_keys(house.path) == ()


async def test_many_keys_do_not_grow_what_is_remembered(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.storage.keys._MOST_REMEMBERED", 2)
    for n in range(5):
        made = create_key(house.path, house.clock, house.by.org, f"system {n}")
        assert await house.store.authenticate(made.key) is not None
    assert len(house.store._keyring._remembered) <= 2


async def test_making_and_revoking_keys_is_in_the_audit_trail(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    revoke_key(house.path, house.clock, made.info.id)
    report = verify_audit(house.path)
    assert report.sound
    assert report.entries == 3  # the organisation, the key, its end
