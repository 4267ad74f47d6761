"""Is a person known as the last screen that stands told, and joined when it was found out?"""

from datetime import timedelta

from msgspec.structs import replace

from service.application.correct_screen import correct_screen
from service.application.patients import merge_patients
from service.application.person_history import Person, person_of, persons_of, turns_of
from service.application.ports import Family, Joined
from service.application.search_ports import Told
from service.application.told_whole import family_of
from service.application.withdraw_screen import withdraw_screen
from service.domain.record import Answer, ScreenRecord, ScreenStatus
from service.domain.screen import Screen
from service.domain.value import Identifier
from tests.application.fake_searches import FakeSearches
from tests.application.made import MORNING, NOWHERE, House, later, of

ALONE = Family("me")
OTHER = "01957a3c-5d30-7c41-9a6b-ffffffffffff"
SECOND = Identifier(system="urn:oid:2.999.70", value="N-1")


def told(screen: str, version: int, minute: int, status: str = "final") -> Told:
    return Told(screen, version, MORNING + timedelta(minutes=minute), ScreenStatus(status))


def test_each_screen_version_is_a_version_of_the_person_newest_first() -> None:
    rows = (told("b", 1, 3), told("a", 2, 2, "amended"), told("a", 1, 1))
    turns = turns_of(rows, ALONE)
    assert [turn.version for turn in turns] == ["b.1", "a.2", "a.1"]
    assert [turn.source for turn in turns] == list(rows)


def test_a_withdrawn_screen_tells_nothing_any_more() -> None:
    rows = (told("b", 2, 3, "withdrawn"), told("b", 1, 2), told("a", 1, 1))
    turns = turns_of(rows, ALONE)
    assert [(turn.version, turn.source.screen) for turn in turns] == [
        ("b.2", "a"), ("b.1", "b"), ("a.1", "a"),
    ]  # fmt: skip
    assert (turns[0].at, turns[0].last) == (rows[0].at, rows[0])


def test_where_no_screen_stands_the_last_one_is_all_that_is_known() -> None:
    rows = (told("a", 2, 2, "withdrawn"), told("a", 1, 1))
    assert [turn.source for turn in turns_of(rows, ALONE)] == list(rows)


def test_being_joined_is_a_version_of_its_own() -> None:
    family = Family("me", (Joined(OTHER, MORNING + timedelta(minutes=5)),))
    turns = turns_of((told("b", 1, 9), told("a", 1, 1)), family)
    assert [turn.version for turn in turns] == ["b.1.1", "a.1.1", "a.1"]
    assert [len(turn.family.replaces) for turn in turns] == [1, 1, 0]


def test_being_taken_over_is_a_version_of_its_own() -> None:
    family = Family("me", (), OTHER, MORNING + timedelta(minutes=5))
    turns = turns_of((told("a", 1, 1),), family)
    assert [turn.version for turn in turns] == ["a.1.1", "a.1"]
    assert [turn.family.replaced_by for turn in turns] == [OTHER, None]


def test_two_joined_at_once_are_one_version() -> None:
    later = MORNING + timedelta(minutes=5)
    family = Family("me", (Joined(OTHER, later), Joined("third", later)))
    turns = turns_of((told("a", 1, 1),), family)
    assert [turn.version for turn in turns] == ["a.1.2", "a.1"]


def test_of_whom_nothing_was_told_there_is_no_version() -> None:
    assert turns_of((), replace(ALONE, replaced_by=OTHER, replaced_at=MORNING)) == ()


def values(person: Person) -> list[tuple[str, bool]]:
    """By what else the person is known, and whether that is old."""
    return [(one.identifier.value, one.is_old) for one in person.known_by]


async def persons(house: House, patient: str, most: int = 9) -> tuple[Person, ...]:
    family = await family_of(house.service, house.call, patient)
    return await persons_of(house.service, house.call, family, most)


async def person(house: House, answer: Answer) -> Person | None:
    family = await family_of(house.service, house.call, answer.screen.patient_id)
    return await person_of(house.service, house.call, answer.screen, family)


async def test_what_told_of_a_patient_comes_newest_first(house: House) -> None:
    first = (await house.recorded()).screen
    house.clock.now += timedelta(minutes=1)
    second = (await house.recorded(later(1))).screen
    found = await persons(house, first.patient_id)
    assert [one.record for one in found] == [second, first]
    assert [one.record for one in await persons(house, first.patient_id, 1)] == [second]
    assert await persons_of(house.service, house.stranger, Family(first.patient_id), 9) == ()


async def test_a_screen_that_stands_alone_says_itself_who_it_is_about(house: House) -> None:
    assert await person(house, await house.recorded()) is None


def under(*known: str, minute: int = 0) -> Screen:
    """A screen whose person is known as ``system|value``, the first one leading."""
    content = later(minute)
    first, *more = [
        Identifier(system=f"urn:oid:2.999.{system}", value=value)
        for system, _, value in (one.partition("|") for one in known)
    ]
    return replace(
        content, patient=replace(content.patient, identifier=first, more_identifiers=more)
    )


async def test_every_identifier_stays_with_the_person_and_is_old_where_another_took_its_place(
    house: House,
) -> None:
    answers = []
    for minute, known in enumerate((("7|A", "70|N"), ("7|A", "70|M", "8|E"), ("7|A",))):
        answers.append(await house.recorded(under(*known, minute=minute)))
        house.clock.now += timedelta(minutes=1)
    newest, second, first = await persons(house, answers[0].screen.patient_id)
    assert values(first) == []
    assert values(second) == [("N", True)]
    assert values(newest) == [("N", True), ("M", False), ("E", False)]
    assert await person(house, answers[0]) is None
    assert await person(house, answers[1]) == second
    assert await person(house, answers[2]) == newest


async def test_what_only_a_withdrawn_screen_or_an_earlier_version_named_is_old(
    house: House,
) -> None:
    first = await house.recorded(under("7|A"))
    house.clock.now += timedelta(minutes=1)
    wrong = await house.recorded(under("7|A", "70|X", minute=1))
    house.clock.now += timedelta(minutes=1)
    await withdraw_screen(house.service, house.call, wrong.screen.id, 1, "wrong person")
    house.clock.now += timedelta(minutes=1)
    mistyped = await house.recorded(under("7|A", "8|Y", minute=2))
    house.clock.now += timedelta(minutes=1)
    mended = under("7|A", "9|Z", minute=2)
    await correct_screen(house.service, house.call, mistyped.screen.id, 1, "mistyped", mended)
    told = await persons(house, first.screen.patient_id)
    assert [values(one) for one in told] == [
        [("X", True), ("Y", True)],
        [("X", True)],
        [("X", True)],
        [],
        [],
    ]


async def test_who_was_joined_before_brings_along_all_that_came_with_them(house: House) -> None:
    answers = [await house.recorded(under(f"7|{name}", f"7{name}|N")) for name in "ABC"]
    first, second, third = [one.screen.patient_id for one in answers]
    for gone, into in ((first, second), (second, third)):
        house.clock.now += timedelta(minutes=1)
        await merge_patients(house.service, house.call, gone, into)
    (found, *_) = await persons(house, third)
    told = [one.identifier for one in found.known_by]
    assert {(one.system[-2:], one.value) for one in told} == {
        (".7", "A"), ("7A", "N"), (".7", "B"), ("7B", "N"),
    }  # fmt: skip


async def test_after_a_withdrawal_the_person_is_as_the_screen_before_told(house: House) -> None:
    first = await house.recorded()
    house.clock.now += timedelta(minutes=1)
    second = await house.recorded(later(1))
    house.clock.now += timedelta(minutes=1)
    gone = await withdraw_screen(house.service, house.call, second.screen.id, 1, "wrong person")
    found = await person(house, gone)
    assert found is not None
    assert found.record == first.screen
    (newest, *_) = await persons(house, first.screen.patient_id)
    assert found == newest


async def joined(house: House) -> tuple[Answer, Family, Family]:
    """A screen of a record that was found to be one with another; who goes, and who stays."""
    content = of("H-2")
    more = replace(content, patient=replace(content.patient, more_identifiers=[SECOND]))
    gone, stays = await house.recorded(more), await house.recorded(of("H-3", 5))
    house.clock.now += timedelta(minutes=1)
    patient, into = gone.screen.patient_id, stays.screen.patient_id
    await merge_patients(house.service, house.call, patient, into)
    taken = await family_of(house.service, house.call, patient)
    family = await family_of(house.service, house.call, into)
    house.clock.now += timedelta(minutes=1)
    return gone, taken, family


async def test_the_one_that_stays_is_known_by_all_that_both_were_known_by(house: House) -> None:
    _, taken, family = await joined(house)
    after, before = await persons_of(house.service, house.call, family, 9)
    assert values(after) == [("H-2", True), ("N-1", False)]
    assert before.known_by == ()
    next_one = (await house.recorded(of("H-2", 9))).screen
    assert next_one.patient_id == family.patient
    newest = (await persons_of(house.service, house.call, family, 1))[0]
    assert (newest.record, values(newest)) == (next_one, [("N-1", False), ("H-3", True)])
    assert await person_of(house.service, house.call, next_one, family) == newest
    told = await persons_of(house.service, house.call, taken, 9)
    assert [one.known_by for one in told] == [(), ()]


async def test_what_is_told_of_either_later_changes_no_version_before(house: House) -> None:
    gone, _, family = await joined(house)
    before = await persons_of(house.service, house.call, family, 9)
    content = of("H-2", 1)
    await correct_screen(house.service, house.call, gone.screen.id, 1, "mistyped", content)
    assert (await persons_of(house.service, house.call, family, 9))[-2:] == before


async def test_a_record_of_which_nothing_was_told_brings_nothing(house: House) -> None:
    stays = (await house.recorded()).screen
    family = Family(stays.patient_id, (Joined(NOWHERE, stays.recorded_at),))
    (found,) = await persons_of(house.service, house.call, family, 9)
    assert found.known_by == ()
    other = replace(stays, id=NOWHERE)
    assert await person_of(house.service, house.call, other, family) is None


class Erasing(FakeSearches):
    """Whatever it listed is erased before anybody reads it."""

    async def record_of(self, _org: str, _screen: str, _version: int) -> ScreenRecord | None:
        return None


async def test_what_is_erased_meanwhile_is_left_out(house: House) -> None:
    _, _, family = await joined(house)
    screen = (await house.recorded(of("H-3", 9))).screen
    service = replace(house.service, searches=Erasing(house.records))
    assert await persons_of(service, house.call, family, 9) == ()
    assert await person_of(service, house.call, screen, family) is None
