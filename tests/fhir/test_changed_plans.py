"""Does the CarePlan say what clinicians chose after it was made, and what ended it?"""

from msgspec.structs import replace

from service.domain.move import Move
from service.domain.record import PlanEvent, PlanEventKind, SetAside
from service.fhir.care_plan import care_plan_of
from service.fhir.resources import CarePlan
from tests.fhir.answers import FULL, HELPED, RECORDED_AT, SITE, answer_to
from tests.fhir.overruled import AT, BY, OTHER, REASON, after, created, decided, ended

HELP = answer_to(HELPED)
MADE = created(HELP.plan)
ALONE = decided(HELP, Move.BED_TO_CHAIR, "unaided")
LIFTED = decided(HELP, Move.CHAIR_TO_BED, "sling_lift", 3, OTHER)


def told(*events: PlanEvent, current: bool = True) -> CarePlan:
    plan = after(HELP, *events, current=current).plan
    return care_plan_of(SITE, plan, HELP.screen, events)


def test_a_choice_is_the_next_version_of_the_same_plan() -> None:
    made = told(MADE, ALONE)
    assert (made.id, made.meta.version_id) == (HELP.plan.id, "2")
    assert made.meta.last_updated == AT
    assert (made.status, made.replaces, made.created) == ("active", (), RECORDED_AT)
    assert made.period == told(MADE).period


def test_the_description_names_what_was_chosen_and_marks_it() -> None:
    said = told(MADE, ALONE, LIFTED).description
    assert (
        "Bed to chair: On their own (chosen by a clinician, computed was: With a non-powered stand"
        " aid; LESS SUPPORTED than computed), 0 helpers." in said
    )
    assert "Chair to bed: In a full-body sling lift (chosen by a clinician, computed was: " in said
    assert said.count("chosen by a clinician") == 2
    assert said.count("LESS SUPPORTED") == 1


def test_the_notes_say_first_which_moves_were_overruled_by_whom_when_and_why() -> None:
    made = told(MADE, ALONE, LIFTED)
    first, second, *others = made.note
    assert first.text.startswith("Bed to chair: Chosen by a clinician, not computed: ")
    assert f"By: {BY.role}, 4 March 2026, 09:00 (UTC+1). Reason: {REASON}." in first.text
    assert (first.time, second.time) == (ALONE.at, LIFTED.at)
    assert {one.time for one in others} == {None}
    assert made.text is not None
    assert "Bed to chair: Chosen by a clinician" in made.text.div


def test_whoever_chose_is_among_the_contributors_once() -> None:
    more = decided(HELP, Move.CHAIR_TO_CHAIR, "sling_lift", 4)
    chose = [one.identifier for one in told(MADE, ALONE, LIFTED, more).contributor]
    assert [one.value for one in chose if one] == ["S-77", "S-78"]
    screened = answer_to(FULL)
    (assessor,) = care_plan_of(SITE, screened.plan, screened.screen).contributor
    event = decided(screened, Move.BED_TO_CHAIR, "sling_lift")
    plan = after(screened, created(screened.plan), event).plan
    first, second = care_plan_of(SITE, plan, screened.screen, (event,)).contributor
    assert (first, second.display) == (assessor, BY.role)


def test_a_choice_taken_back_leaves_the_plan_as_computed_and_says_so() -> None:
    back = decided(HELP, Move.BED_TO_CHAIR, "stand_aid", 3)
    made, first = told(MADE, ALONE, back), told(MADE)
    assert made.meta.version_id == "3"
    assert made.activity == first.activity
    assert made.description == first.description
    assert "a clinician's choice was taken back" in made.note[0].text
    assert made.note[1:] == first.note
    assert made.contributor == ()


def test_an_overruled_plan_that_something_ended_early_is_no_longer_a_thing_to_do() -> None:
    made = told(MADE, ALONE, ended(HELP, 3))
    assert (made.status, made.meta.version_id) == ("revoked", "3")
    assert {one.detail.status for one in made.activity} == {"cancelled"}
    notes = [one.text for one in made.note]
    assert notes[-1] == "Ended: A fall. Slid from the bed."
    assert notes[0].startswith("Bed to chair: Chosen by a clinician")


def test_a_plan_that_replaces_an_overruled_one_says_which_choices_it_left_behind() -> None:
    aside = (SetAside("Bed to chair", "On their own", REASON),)
    made = told(replace(MADE, set_aside=aside))
    notes = [one.text for one in made.note if "a clinician had chosen On their own" in one.text]
    assert len(notes) == 1
    assert REASON in notes[0]
    assert {one.time for one in made.note} == {None}
    gone = told(
        MADE, ALONE, PlanEvent(HELP.plan.id, 3, PlanEventKind.SUPERSEDED, AT, "w"), current=False
    )
    assert gone.status == "revoked"
    assert "replaced" in gone.description
    assert {one.detail.status for one in gone.activity} == {"cancelled"}
