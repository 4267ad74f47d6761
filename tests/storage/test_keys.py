"""Is a key made, replaced and ended as asked, and its secret kept nowhere?"""

import sqlite3
from contextlib import closing
from datetime import timedelta

import pytest

from service.domain.record import Principal, Refusal
from service.domain.scope import EVERYTHING, granted
from service.storage.keys import create_key, list_keys, revoke_key, rotate_key
from service.storage.verify import verify_audit
from tests.storage.made import ON_A_FILE, House


async def test_a_key_opens_its_organisation_under_its_own_name(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    assert list_keys(house.path, house.by.org) == (made.info,)
    assert list_keys(house.path, "another") == ()
    assert await house.store.authenticate(made.key) == Principal(
        house.by.org, made.info.id, "ward system", granted(EVERYTHING)
    )


@ON_A_FILE
async def test_the_secret_is_nowhere_in_the_file(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    with closing(sqlite3.connect(house.file)) as connection:
        dump = "\n".join(connection.iterdump())
    assert made.info.prefix in dump
    assert made.key.split(".")[1] not in dump
    assert made.key.split(".")[1].encode().hex().upper() not in dump.upper()


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


async def test_a_key_may_do_what_it_was_made_for(house: House) -> None:
    scopes = ["system/CarePlan.rs", "system/Patient.s"]
    made = create_key(house.path, house.clock, house.by.org, "board", scopes=scopes)
    assert made.info.scopes == "system/CarePlan.rs system/Patient.s"
    found = await house.store.authenticate(made.key)
    assert isinstance(found, Principal)
    assert found.scopes == {"CarePlan.r", "CarePlan.s", "Patient.s"}
    with pytest.raises(ValueError, match="no scope"):
        create_key(house.path, house.clock, house.by.org, "board", scopes=["everything"])


async def test_a_rotated_key_opens_until_the_overlap_is_over_and_the_new_one_after(
    house: House,
) -> None:
    old = create_key(house.path, house.clock, house.by.org, "board", scopes=["system/Goal.r"])
    new = rotate_key(house.path, house.clock, old.info.id, timedelta(hours=24))
    assert (new.info.name, new.info.scopes) == ("board", "system/Goal.r")
    assert new.info.expires is None
    house.clock.go_on(hours=23, minutes=59)
    assert isinstance(await house.store.authenticate(old.key), Principal)
    house.clock.go_on(minutes=1)
    refused = await house.store.authenticate(old.key)
    assert isinstance(refused, Refusal) and refused.reason == "expired_key"
    assert isinstance(await house.store.authenticate(new.key), Principal)


async def test_a_rotated_key_that_ends_sooner_is_not_kept_alive(house: House) -> None:
    end = house.clock.now + timedelta(hours=1)
    old = create_key(house.path, house.clock, house.by.org, "board", end)
    new = rotate_key(house.path, house.clock, old.info.id, timedelta(hours=24))
    assert new.info.expires == house.clock.now + timedelta(hours=1)
    (kept,) = [key for key in list_keys(house.path) if key.id == old.info.id]
    assert kept.expires == end


async def test_what_has_ended_is_not_rotated(house: House) -> None:
    old = create_key(house.path, house.clock, house.by.org, "board")
    with pytest.raises(ValueError, match="negative"):
        rotate_key(house.path, house.clock, old.info.id, timedelta(hours=-1))
    revoke_key(house.path, house.clock, old.info.id)
    with pytest.raises(ValueError, match="ended"):
        rotate_key(house.path, house.clock, old.info.id, timedelta())
    with pytest.raises(LookupError, match="no key"):
        rotate_key(house.path, house.clock, "nothing", timedelta())
    assert len(list_keys(house.path)) == 1


async def test_making_and_revoking_keys_is_in_the_audit_trail(house: House) -> None:
    made = create_key(house.path, house.clock, house.by.org, "ward system")
    new = rotate_key(house.path, house.clock, made.info.id, timedelta())
    revoke_key(house.path, house.clock, new.info.id)
    report = verify_audit(house.path)
    assert report.sound
    assert report.entries == 5  # the organisation, the key, the new key, the old key's end, its end
