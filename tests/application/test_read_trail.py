"""Is the audit trail read page by page, and is each reading of it noted?"""

import pytest

from service.application import read_trail
from service.application.read_trail import SETTLED, trail_entry, trail_feed, trail_page
from service.application.trail_ports import Noted, TrailLook
from service.domain.problem import NotFound, Unavailable
from tests.application.made import House


def look(**asked: object) -> TrailLook:
    plain = {"newest_first": True, "limit": 10, "wanted": lambda _: True}
    return TrailLook(**(plain | asked))  # type: ignore[arg-type]


async def noted(house: House, *actions: str) -> None:
    for action in actions:
        await house.records.audit(house.call.entry(action, "ok", "p-1"))


async def test_a_page_is_filled_from_several_stretches(house: House) -> None:
    await noted(house, "a", "b", "a", "b", "a", "b")
    asked = look(limit=3, wanted=lambda one: one.action == "a")
    page = await trail_page(house.service, house.call, asked)
    assert [one.seq for one in page.found] == [5, 3, 1]
    assert page.next is None


async def test_the_next_page_begins_where_the_last_one_ended(house: House) -> None:
    await noted(house, *"abcdefg")
    found: list[Noted] = []
    after = None
    for _ in range(4):
        page = await trail_page(house.service, house.call, look(limit=2, after=after))
        found += page.found
        after = page.next
    assert [one.action for one in found] == [*"gfedcba"]
    assert after is None


async def test_what_is_rare_gives_a_short_page_that_leads_on(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(read_trail, "MOST_STRETCHES", 2)
    await noted(house, "rare", *["b"] * 6)
    rare = look(wanted=lambda one: one.action == "rare")
    page = await trail_page(house.service, house.call, rare)
    assert (page.found, page.next) == ((), "4")


async def test_a_feed_tells_what_is_settled_oldest_first_and_is_noted(house: House) -> None:
    await noted(house, "a", "b")
    page = await trail_feed(house.service, house.call, look())
    assert [one.action for one in page.found] == ["a", "b"]
    assert house.told_last() == ("audit.list", "ok", None, None)
    asked: list[TrailLook] = []
    stretch = house.service.searches.trail_stretch

    async def watched(org: str, look: TrailLook) -> object:
        asked.append(look)
        return await stretch(org, look)

    house.service.searches.trail_stretch = watched  # type: ignore[method-assign,assignment]
    await trail_feed(house.service, house.call, look())
    assert (asked[0].newest_first, asked[0].high) == (
        False,
        house.clock.now - SETTLED,
    )


async def test_an_entry_is_read_by_its_id_and_the_reading_is_noted(house: House) -> None:
    await noted(house, "a", "b")
    found = await trail_entry(house.service, house.call, "1-2")
    assert (found.id, found.action) == ("1-2", "b")
    assert house.told_last() == ("auditevent.read", "ok", "p-1", "1-2")


@pytest.mark.parametrize(
    "name", ["1-9", "2-1", "1", "-1", "1-", "x-1", "1-x", "01-1", "1-01", "٣-1"]
)
async def test_any_other_id_is_not_found_and_noted_without_it(house: House, name: str) -> None:
    await noted(house, "a")
    with pytest.raises(NotFound):
        await trail_entry(house.service, house.call, name)
    assert house.told_last() == ("auditevent.read", "not_found", None, None)


async def test_where_nothing_can_be_noted_the_trail_is_not_read(house: House) -> None:
    await noted(house, "a")
    house.records.busy = True
    with pytest.raises(Unavailable):
        await trail_entry(house.service, house.call, "1-1")
    with pytest.raises(Unavailable):
        await trail_feed(house.service, house.call, look())
