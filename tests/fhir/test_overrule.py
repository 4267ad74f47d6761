"""Can nobody take a clinician's choice for a computed one, or overlook less support?"""

from datetime import datetime

import pytest
from msgspec.structs import replace

from service.domain.move import Move
from service.domain.overruling import last_choices
from service.domain.plan import Overrule, PlannedMove
from service.fhir.overrule import (
    BEGIN,
    LESS,
    choice_brief,
    choice_extension,
    choice_notes,
    choice_story,
    choice_words,
    choosers,
)
from service.fhir.structs import Extension
from tests.fhir.answers import HELPED, HOSTILE, SITE, answer_to, hostile
from tests.fhir.overruled import AT, BY, OTHER, REASON, after, created, decided

ANSWER = answer_to(HELPED)
CREATED = created(ANSWER.plan)
ALONE = decided(ANSWER, Move.BED_TO_CHAIR, "unaided")
LIFTED = decided(ANSWER, Move.CHAIR_TO_BED, "sling_lift", 3, OTHER)
BACK = decided(ANSWER, Move.BED_TO_CHAIR, "stand_aid", 4)
COMPUTED = next(one for one in ANSWER.plan.moves if one.move == Move.BED_TO_CHAIR)
PLAN = after(ANSWER, CREATED, ALONE, LIFTED).plan


def at(moment: datetime) -> str:
    return f"at {moment:%H:%M}"


def move(which: Move) -> PlannedMove:
    return next(one for one in PLAN.moves if one.move == which)


def choice(which: Move) -> Overrule:
    found = move(which).overrule
    assert found is not None
    return found


def parts(which: Move) -> dict[str, Extension]:
    (told,) = choice_extension(SITE, move(which))
    assert told.url == SITE.extension("overrule")
    return {one.url: one for one in told.extension}


def test_a_computed_move_is_told_without_a_word_of_a_choice() -> None:
    assert choice_words(COMPUTED, at) == choice_brief(COMPUTED) == choice_story(COMPUTED, at) == ""
    assert choice_extension(SITE, COMPUTED) == ()
    assert choice_notes(ANSWER.plan, (CREATED,), at) == []
    assert choosers(ANSWER.plan) == ()


def test_it_begins_with_who_chose_and_says_in_place_of_what_by_whom_when_and_why() -> None:
    told = choice_words(move(Move.BED_TO_CHAIR), at)
    assert told.startswith(f"{BEGIN}: On their own, in place of what was computed: {'With a'}")
    assert COMPUTED.method_title in told
    assert f"By: {BY.role}, at {AT:%H:%M}. Reason: {REASON}." in told
    assert BY.identifier.value not in told


def test_a_role_that_nobody_told_is_that_of_a_clinician() -> None:
    assert "By: clinician, " in choice_words(move(Move.CHAIR_TO_BED), at)


def test_less_support_is_told_everywhere_and_only_where_it_is_less() -> None:
    less, more = move(Move.BED_TO_CHAIR), move(Move.CHAIR_TO_BED)
    assert choice(Move.BED_TO_CHAIR).less_supported
    assert not choice(Move.CHAIR_TO_BED).less_supported
    for tell in (
        lambda one: choice_words(one, at),
        choice_brief,
        lambda one: choice_story(one, at),
    ):
        assert LESS in tell(less)
        assert LESS not in tell(more)
    assert parts(Move.BED_TO_CHAIR)["lessSupported"].value_boolean is True
    assert parts(Move.CHAIR_TO_BED)["lessSupported"].value_boolean is False


def test_all_that_stands_against_it_is_told_with_what_was_seen() -> None:
    against = choice(Move.BED_TO_CHAIR).against
    assert against
    for told in (
        choice_words(move(Move.BED_TO_CHAIR), at),
        choice_story(move(Move.BED_TO_CHAIR), at),
    ):
        assert "What stands against it" in told
        assert all(one.why in told for one in against)
    bare = replace(move(Move.BED_TO_CHAIR), overrule=replace(choice(Move.BED_TO_CHAIR), against=()))
    assert "against it" not in choice_words(bare, at)
    assert "against it" not in choice_story(bare, at)


def test_the_story_says_what_had_been_computed_and_that_it_is_not_done() -> None:
    assert f"<p>Was computed, is not done: {COMPUTED.plain}</p>" in choice_story(
        move(Move.BED_TO_CHAIR), at
    )


def test_machines_are_told_all_of_it_in_parts() -> None:
    told = parts(Move.BED_TO_CHAIR)
    assert list(told) == ["computed", "reason", "by", "at", "lessSupported"]
    computed, by = told["computed"].value_codeable_concept, told["by"].value_reference
    assert computed is not None
    assert computed.coding[0].code == COMPUTED.method
    assert told["reason"].value_string == REASON
    assert by is not None
    assert by.identifier is not None
    assert (by.type, by.display, by.identifier.value) == ("Practitioner", BY.role, "S-77")
    assert by.reference is None
    assert told["at"].value_date_time == AT


def test_a_note_for_each_choice_names_its_move_and_who_answers_for_it() -> None:
    alone, lifted = choice_notes(PLAN, (CREATED, ALONE, LIFTED), at)
    assert alone.text.startswith(f"Bed to chair: {BEGIN}: On their own")
    assert lifted.text.startswith(f"Chair to bed: {BEGIN}: In a full-body sling lift")
    assert (alone.time, lifted.time) == (ALONE.at, LIFTED.at)
    assert f"By: {BY.role}, " in alone.text
    assert choosers(PLAN) == (BY, OTHER)


def test_a_choice_taken_back_is_told_as_such_and_stands_no_more() -> None:
    events = (CREATED, ALONE, LIFTED, BACK)
    plan = after(ANSWER, *events).plan
    lifted, back = choice_notes(plan, events, at)
    assert lifted.text.startswith("Chair to bed: ")
    assert back.text.startswith(
        "Bed to chair: a clinician's choice was taken back, With a non-powered stand aid stands"
        " again as computed. By: ward physician, at "
    )
    assert back.time == BACK.at
    assert choosers(plan) == (OTHER,)


def test_only_the_last_choice_for_a_move_is_told() -> None:
    again = decided(ANSWER, Move.BED_TO_CHAIR, "sling_lift", 5)
    events = (CREATED, ALONE, LIFTED, BACK, again)
    assert [event for event, _ in last_choices(events).values()] == [again, LIFTED]
    notes = choice_notes(after(ANSWER, *events).plan, events, at)
    assert [one.text.partition(":")[0] for one in notes] == ["Bed to chair", "Chair to bed"]


@pytest.mark.parametrize("tell", [choice_words, choice_story])
def test_what_a_clinician_wrote_breaks_nothing(tell: object) -> None:
    assert callable(tell)
    bent: PlannedMove = hostile(move(Move.BED_TO_CHAIR))
    assert bent.overrule is not None
    assert bent.overrule.reason == HOSTILE
    told = tell(bent, at)
    if tell is choice_story:
        assert "<script>" not in told
        assert "\x00" not in told
    (extension,) = choice_extension(SITE, bent)
    assert "\x00" not in str(extension.extension[1].value_string)
