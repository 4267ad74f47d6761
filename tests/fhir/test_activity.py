"""Does each move become a positive activity that says in words all a nurse needs?"""

from datetime import datetime

import pytest
from msgspec.structs import replace

from service.domain.move import Move
from service.domain.plan import Plan, PlannedMove, PlanState, RuleBookRef
from service.domain.reason import Change, WouldOpen
from service.domain.screen import Screen
from service.fhir.activity import ACTIVITY_STATUS, activity_of, description_of, move_story
from service.fhir.resources import ActivityDetail
from service.fhir.structs import Extension, Period
from tests.fhir.answers import BARE, FULL, HELPED, SITE, answer_to
from tests.fhir.overruled import after, created, decided


def plan_of(screen: Screen) -> Plan:
    return answer_to(screen).plan


PLAN = plan_of(FULL)
FREE = plan_of(HELPED)
CHAIR = next(move for move in FREE.moves if move.move == Move.BED_TO_CHAIR)
CREATED = created(FREE)
ALONE = after(answer_to(HELPED), CREATED, decided(answer_to(HELPED), Move.BED_TO_CHAIR, "unaided"))
CHOSEN = next(move for move in ALONE.plan.moves if move.move == Move.BED_TO_CHAIR)
HELD = plan_of(replace(FULL, readiness=replace(FULL.readiness, rass=-5)))


def at(moment: datetime) -> str:
    return f"at {moment:%H:%M}"


def detail(move: PlannedMove, plan: Plan = FREE) -> ActivityDetail:
    return activity_of(SITE, plan, move, Period(plan.valid_from, plan.valid_until), at).detail


def extensions(made: ActivityDetail, name: str) -> list[Extension]:
    return [one for one in made.extension if one.url == SITE.extension(name)]


def test_a_move_holds_as_long_as_its_plan() -> None:
    period = detail(CHAIR).scheduled_period
    assert (period.start, period.end) == (FREE.valid_from, FREE.valid_until)


def test_the_method_is_told_as_the_rule_book_of_the_plan_defines_it() -> None:
    older = replace(FREE, rule_book=RuleBookRef("0.9.0", "00"))
    assert detail(CHAIR, older).instantiates_canonical[0].endswith("|0.9.0")


def test_the_method_is_the_code_with_its_definition() -> None:
    made = detail(CHAIR)
    assert made.code.coding[0].code == CHAIR.method
    assert made.code.text == CHAIR.method_title
    assert made.instantiates_canonical == (SITE.definition("ActivityDefinition", CHAIR.method),)


def test_the_description_alone_names_move_method_helpers_device_and_accessories() -> None:
    for move in (*PLAN.moves, *FREE.moves):
        told = description_of(move, at)
        assert move.method_title in told
        assert move.plain in told
        assert str(move.helpers) in told if move.helpers is not None else "clinician" in told
        for accessory in move.accessories:
            assert f"{accessory.title} ({accessory.reason})" in told
        if move.device:
            assert move.device.title in told
            assert (move.device.label or "") in told


def test_what_to_wait_for_and_what_only_just_passes_is_in_words() -> None:
    told = description_of(
        replace(CHAIR, wait_for=("A second helper",), margin=("rise", "arms")), at
    )
    assert "Wait for: A second helper." in told
    assert "Only just enough: rise, arms." in told


def test_what_to_ask_next_is_in_words() -> None:
    asked = next(move.ask_next for move in answer_to(BARE).plan.moves if move.ask_next)
    told = description_of(replace(CHAIR, ask_next=asked), at)
    assert told.endswith(f"Ask or test next: {asked.text}")


def test_a_plan_of_before_reasons_had_words_still_says_why() -> None:
    story = move_story(replace(CHAIR, why=()), at)
    assert "Seen: clear. Required: at least review." in story
    assert CHAIR.why[0] in move_story(CHAIR, at)


def test_one_helper_is_not_told_as_many() -> None:
    assert "Needs 1 helper, trained in lifting." in description_of(
        replace(CHAIR, helpers=1, training=("lifting",)), at
    )
    assert "Needs 0 helpers." in description_of(replace(CHAIR, helpers=0, training=()), at)


def test_expanded_capacity_is_said() -> None:
    device = next(move.device for move in FREE.moves if move.device)
    told = description_of(replace(CHAIR, device=replace(device, expanded_capacity=True)), at)
    assert ", expanded capacity." in told


def test_do_not_move_is_a_thing_to_do_and_leaves_the_helpers_to_the_clinician() -> None:
    withheld = [move for move in HELD.moves if move.helpers is None]
    assert withheld
    for move in withheld:
        made = detail(move, HELD)
        assert made.code.coding[0].code == "do_not_move"
        assert made.status == "scheduled"
        assert "as the clinician directs" in made.description
        assert extensions(made, "helpers") == []


def test_each_reason_is_coded_by_its_rule_and_says_seen_and_required() -> None:
    made = detail(CHAIR)
    for reason, told in zip(CHAIR.because, made.reason_code, strict=True):
        assert told.coding[0].code == reason.rule
        assert told.coding[0].system.endswith("/CodeSystem/rule")
        assert "Seen: " in str(told.text)
        assert "Required: " in str(told.text)


def test_a_reason_against_a_move_does_not_read_like_one_for_it() -> None:
    withheld = next(move for move in HELD.moves if move.helpers is None)
    told = str(detail(withheld, HELD).reason_code[0].text)
    assert told.startswith("Not met: ")
    assert not str(detail(CHAIR).reason_code[0].text).startswith("Not met: ")


def test_the_reasons_lead_to_the_derived_findings_each_once() -> None:
    references = [one.reference for one in detail(CHAIR).reason_reference]
    assert references
    assert len(references) == len(set(references))
    assert all(f"Observation/{FREE.screen_id}-axis-" in str(one) for one in references)


def test_the_extensions_say_the_same_for_machines() -> None:
    move = next(move for move in FREE.moves if move.device and move.accessories)
    assert move.device is not None
    made = detail(replace(move, device=replace(move.device, label="Aid 3")), FREE)
    assert extensions(made, "move")[0].value_codeable_concept is not None
    assert extensions(made, "helpers")[0].value_unsigned_int == move.helpers
    assert extensions(made, "device-class")[0].value_codeable_concept is not None
    assert extensions(made, "device")[0].value_string == "Aid 3"
    assert len(extensions(made, "accessory")) == len(move.accessories)
    assert [part.url for part in extensions(made, "accessory")[0].extension] == ["code", "reason"]


def test_only_the_next_more_active_method_is_told_as_not_chosen() -> None:
    move = next(move for move in FREE.moves if move.would_open)
    assert move.would_open is not None
    (told,) = extensions(detail(move, FREE), "not-chosen")
    method, reason = told.extension
    assert method.value_codeable_concept is not None
    assert method.value_codeable_concept.coding[0].code == move.would_open.method
    assert reason.value_string


def test_a_method_that_nothing_ruled_out_is_told_by_what_would_open_it() -> None:
    opened = WouldOpen("unheard_of", (Change("arms", "one", "both"),))
    (told,) = extensions(detail(replace(CHAIR, would_open=opened)), "not-chosen")
    assert told.extension[0].value_codeable_concept is not None
    assert told.extension[0].value_codeable_concept.text == "Unheard of"
    assert told.extension[1].value_string == "arms: one, required both"


def test_the_most_active_method_has_nothing_not_chosen() -> None:
    assert extensions(detail(replace(CHAIR, would_open=None)), "not-chosen") == []


@pytest.mark.parametrize("state", PlanState)
def test_only_a_current_plan_shows_its_moves_as_things_to_do(state: PlanState) -> None:
    made = detail(CHAIR, replace(FREE, state=state))
    assert made.status == ACTIVITY_STATUS[state]
    assert (made.status == "scheduled") is (state == PlanState.CURRENT)


def test_the_story_holds_steps_with_brakes_cautions_and_stop_signs() -> None:
    for move in FREE.moves:
        story = move_story(move, at)
        assert story.count("<li>") == sum(
            map(len, (move.why or move.because, move.steps, move.cautions, move.stop_signs))
        )
    move = next(move for move in FREE.moves if move.method == "stand_aid" or move.steps)
    assert "(brakes " in "".join(move_story(one, at) for one in FREE.moves)
    assert move.stop_signs[0].text in move_story(move, at)


def test_a_bare_screen_is_told_too() -> None:
    plan = answer_to(BARE).plan
    assert [detail(move, plan).description for move in plan.moves]


def test_what_a_clinician_chose_is_the_thing_to_do_and_says_so_before_anything_else() -> None:
    made = detail(CHOSEN, ALONE.plan)
    assert made.code.coding[0].code == "unaided"
    assert made.status == "scheduled"
    assert made.description.startswith(f"Chosen by a clinician, not computed: {made.code.text}, ")
    assert CHOSEN.plain in made.description
    assert extensions(detail(CHAIR), "overrule") == []
    assert not detail(CHAIR).description.startswith("Chosen")


def test_what_is_met_and_what_stands_against_a_choice_are_both_told() -> None:
    assert CHOSEN.overrule is not None
    made = detail(CHOSEN, ALONE.plan)
    rules = [one.coding[0].code for one in made.reason_code]
    assert rules == [one.rule for one in (*CHOSEN.because, *CHOSEN.overrule.against)]
    against = [str(one.text) for one in made.reason_code[len(CHOSEN.because) :]]
    assert against
    assert all(one.startswith(("Not met: ", "Not known: ")) for one in against)
    assert all(one in made.description for one in against)
    seen = {one.about for one in CHOSEN.overrule.against} & {"heel", "shift", "step"}
    references = [str(one.reference) for one in made.reason_reference]
    assert all(any(f"-axis-{about}" in one for one in references) for about in seen)
    assert len(references) == len(set(references))


def test_a_choice_is_told_as_the_rule_book_defines_it_that_was_asked_about_it() -> None:
    assert CHOSEN.overrule is not None
    newer = replace(CHOSEN, overrule=replace(CHOSEN.overrule, rule_book=RuleBookRef("9.0.0", "00")))
    assert detail(newer, ALONE.plan).instantiates_canonical[0].endswith("/unaided|9.0.0")


def test_the_story_of_a_choice_begins_with_what_it_is() -> None:
    story = move_story(CHOSEN, at)
    head, _, rest = story.partition("</h3>")
    assert CHOSEN.method_title in head
    assert rest.startswith("<p><b>Chosen by a clinician, not computed: ")
    assert CHAIR.plain in story
