"""Is a search sorted by several keys over HTTP, and told so by its links?"""

from datetime import timedelta

from msgspec.structs import replace

from service.web.fhir.search_walk import read_mark, word_of
from tests.web.fhir.served import (
    EARLY,
    LATE,
    Told,
    corrected,
    faults,
    found,
    get,
    ids,
    link,
    matches_of,
    two_people,
)
from tests.web.world import World, screen


def observed(one: Told) -> str:
    return str(one.get("effectiveDateTime") or one.get("authored") or one["period"]["start"])


def changed(one: Told) -> str:
    return str(one["meta"]["lastUpdated"])


async def ward(running: World) -> list[Told]:
    """Five screens of three people at two times, recorded one after the other."""
    answers = []
    for value, at in (("A", LATE), ("B", EARLY), ("C", EARLY), ("B", LATE), ("A", EARLY)):
        answers.append(await running.post(screen(value, at)))
        running.clock.pass_time(timedelta(minutes=1))
    return answers


def sorted_as(seen: list[Told], keys: str) -> list[str]:
    read = {"_id": lambda one: str(one["id"]), "_lastUpdated": changed}
    told = sorted(seen, key=lambda one: str(one["id"]))
    for key in keys.split(",")[::-1]:
        name = key.removeprefix("-")
        told.sort(key=read.get(name, observed), reverse=key.startswith("-"))
    return ids(told)


async def test_each_key_sorts_what_those_before_it_leave_equal(running: World) -> None:
    first, *_ = await ward(running)
    await corrected(running, first, observed_at=LATE, context={"trained_helpers": 1})
    for kind, date in (
        ("Observation", "date"), ("QuestionnaireResponse", "authored"), ("CarePlan", "date")
    ):  # fmt: skip
        for form in (
            "{0},_lastUpdated", "-{0},_lastUpdated", "{0},-_lastUpdated", "-{0},-_lastUpdated,_id",
            "{0},_id", "-{0},-_id", "_lastUpdated,{0},_id", "-_lastUpdated,-{0},-_id",
        ):  # fmt: skip
            keys = form.format(date)
            there = await found(running, f"/{kind}?_sort={keys}&_count=500")
            assert ids(there) == sorted_as(there, keys), (kind, keys)
            paged = await found(running, f"/{kind}?_sort={keys}&_count=3")
            assert ids(paged) == ids(there), (kind, keys)
            self = link(await get(running, f"/{kind}?_sort={keys}"), "self")
            assert f"_sort={keys}" in str(self)


async def test_pages_by_several_keys_hold_everything_once_though_more_comes_in(
    running: World,
) -> None:
    await ward(running)
    there = await found(running, "/CarePlan?_count=50")
    seen: list[Told] = []
    page: str | None = "/CarePlan?_sort=-date,-_lastUpdated&_count=2&_total=accurate"
    pages = 0
    while page is not None:
        bundle = await get(running, page)
        seen += matches_of(bundle)
        page, pages = link(bundle, "next"), pages + 1
        await running.post(screen(f"N-{pages}", LATE if pages % 2 else EARLY))
        running.clock.pass_time(timedelta(minutes=1))
    assert pages > 2
    assert set(ids(there)) <= set(ids(seen))
    assert len(set(ids(seen))) == len(seen)


async def test_those_named_by_their_ids_are_sorted_too(running: World) -> None:
    answers = await ward(running)
    names = ",".join(answer["plan"]["id"] for answer in answers)
    for keys in ("date,-_lastUpdated", "-_lastUpdated", "-date", "_lastUpdated,-date"):
        for count in (2, 50):
            path = f"/CarePlan?_id={names}&_sort={keys}&_count={count}"
            there = await found(running, path)
            assert ids(there) == sorted_as(there, keys), keys
            assert len(there) == len(answers)


async def test_the_trail_that_is_named_by_ids_is_sorted_as_asked(running: World) -> None:
    await two_people(running)
    there = ids(await found(running, "/AuditEvent?_count=9"))[:4]
    for sign, expected in (("", there[::-1]), ("-", there)):
        path = f"/AuditEvent?_id={','.join(there)}&_sort={sign}date"
        assert ids(await found(running, path)) == expected


async def test_what_stands_in_the_order_of_its_ids_is_asked_for_so(running: World) -> None:
    await two_people(running)
    for kind in ("Patient", "Goal", "Flag", "Task"):
        told = ids(await found(running, f"/{kind}?_sort=_id&_count=1"))
        assert told == sorted(told)
        assert len(told) == len(await found(running, f"/{kind}"))
    refused = await get(running, "/Goal?_sort=-_id", 400)
    assert faults(refused) == [("value", "http._sort")]


async def test_a_place_that_is_none_of_ours_is_refused(running: World) -> None:
    for _ in range(2):
        await running.post(screen("A", LATE))
    path = "/CarePlan?_sort=date,_id&_count=1"
    cursor = str(link(await get(running, path), "next")).partition("_cursor=")[2]
    mark = replace(read_mark(cursor), last="[7]")
    outcome = await get(running, f"{path}&_cursor={word_of(mark)}", 400)
    assert faults(outcome) == [("value", "http._cursor")]
