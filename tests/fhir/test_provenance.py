"""Does the Provenance name who and what made exactly these versions, and from what?"""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from service.domain.move import Move
from service.domain.plan import RuleBookRef
from service.domain.record import Answer, PlanEvent, PlanEventKind
from service.fhir.bundle import observations_of
from service.fhir.care_plan import care_plan_of
from service.fhir.encode import bytes_of
from service.fhir.provenance import provenance_of
from service.fhir.resources import Provenance
from service.fhir.structs import Reference
from tests.fhir.answers import (
    BARE,
    BOOK,
    FULL,
    HELPED,
    PLAN_ID,
    SCREEN_ID,
    SITE,
    answer_to,
    corrected,
    withdrawn,
)
from tests.fhir.overruled import AT, BY, OTHER, REASON, after, created, decided, ended
from tests.fhir.own_checks import resource_faults
from tests.fhir.validators import form_faults, official_faults, parse_faults, read


def provenance(answer: Answer, *events: PlanEvent) -> Provenance:
    plan = care_plan_of(SITE, answer.plan, answer.screen, events)
    return provenance_of(SITE, answer, plan, observations_of(SITE, answer), events)


FIRST = provenance(answer_to(FULL))


def test_every_target_is_named_with_its_version() -> None:
    targets = [str(one.reference) for one in FIRST.target]
    assert targets[0] == f"CarePlan/{PLAN_ID}/_history/1"
    assert targets[1] == f"Observation/{SCREEN_ID}-panel/_history/1"
    assert all(one.endswith("/_history/1") for one in targets)


def test_the_response_is_what_it_was_made_from() -> None:
    (entity,) = provenance(corrected(answer_to(FULL))).entity
    assert entity.role == "source"
    assert entity.what.reference == f"QuestionnaireResponse/{SCREEN_ID}/_history/2"


def test_the_assessor_and_the_software_are_its_agents() -> None:
    person, software = FIRST.agent
    assert person.who.type == "Practitioner"
    assert person.type.coding[0].code == "author"
    assert software.who.reference == "#software"


def test_the_software_has_the_digest_of_the_rule_book_as_its_version() -> None:
    (device,) = FIRST.contained
    assert device.version[0].value == BOOK.ref.digest
    assert BOOK.ref.version in device.device_name[0].name


def test_without_an_assessor_the_sender_is_named() -> None:
    person = provenance(answer_to(BARE)).agent[0]
    assert person.type.coding[0].code == "enterer"
    assert person.who.display == "ward key"


def test_a_correction_and_a_withdrawal_say_what_was_done_and_why() -> None:
    made = [provenance(change(answer_to(BARE))) for change in (corrected, withdrawn)]
    assert [one.activity.coding[0].code for one in made] == ["corrected", "withdrawn"]
    assert [one.reason[0].text for one in made] == ["Wrong leg.", "Wrong person."]
    assert FIRST.activity.coding[0].code == "screened"
    assert FIRST.reason == ()


def test_its_version_changes_with_the_screen_and_with_the_plan() -> None:
    versions = [
        provenance(answer).meta.version_id
        for answer in (
            answer_to(BARE),
            corrected(answer_to(BARE)),
            withdrawn(answer_to(BARE)),
        )
    ]
    assert versions == ["1.1", "2.1", "2.2"]


def test_an_answer_of_an_earlier_rule_book_names_that_one() -> None:
    older = RuleBookRef("0.9.0", "ab" * 32)
    made = provenance(replace(answer_to(FULL), rule_book=older))
    (device,) = made.contained
    assert device.version[0].value == older.digest
    assert made.text is not None
    assert older.digest in made.text.div
    assert BOOK.ref.digest not in made.text.div


HELP = answer_to(HELPED)
MADE = created(HELP.plan)
ALONE = decided(HELP, Move.BED_TO_CHAIR, "unaided")
LIFTED = decided(HELP, Move.CHAIR_TO_BED, "sling_lift", 3, OTHER)
BACK = decided(HELP, Move.BED_TO_CHAIR, "stand_aid", 4, OTHER)
END = ended(HELP, 3)


def told(*events: PlanEvent) -> Provenance:
    return provenance(after(HELP, *events), *events)


def agents(made: Provenance) -> list[tuple[str, str | None]]:
    """Each agent's type, with the identifier, the words or the reference that names it."""
    return [(one.type.coding[0].code, named(one.who)) for one in made.agent]


def named(who: Reference) -> str | None:
    return who.identifier.value if who.identifier else who.display or who.reference


def test_a_choice_names_who_made_it_when_why_and_the_version_that_it_made() -> None:
    made = told(MADE, ALONE)
    assert made.activity.coding[0].code == "overruled"
    assert made.meta.version_id == "1.2"
    assert made.meta.last_updated == made.recorded == made.occurred_date_time == AT
    assert [one.text for one in made.reason] == [REASON]
    assert made.target[0].reference == f"CarePlan/{PLAN_ID}/_history/2"
    assert agents(made) == [
        ("enterer", "ward key"), ("author", BY.identifier.value), ("assembler", "#software"),
    ]  # fmt: skip
    assert made.agent[1].who.type == "Practitioner"
    assert made.agent[1].who.display == BY.role
    assert made.text is not None
    assert (
        f"Bed to chair: On their own, chosen: 4 March 2026, 09:00 (UTC+1), by S-77."
        f" Reason: {REASON}" in made.text.div
    )


def test_the_findings_are_still_of_the_screen_that_they_were_made_from() -> None:
    before, made = told(MADE), told(MADE, ALONE)
    assert made.target[1:] == before.target[1:]
    assert made.entity == before.entity
    assert before.activity.coding[0].code == "screened"


def test_whoever_chose_stays_an_author_as_long_as_the_choice_stands() -> None:
    made = told(MADE, ALONE, LIFTED)
    assert made.activity.coding[0].code == "overruled"
    assert [name for kind, name in agents(made) if kind == "author"] == ["S-78", "S-77"]
    back = told(MADE, ALONE, LIFTED, BACK)
    assert back.activity.coding[0].code == "taken_back"
    assert [name for kind, name in agents(back) if kind == "author"] == ["S-78"]
    assert back.text is not None
    assert "Bed to chair: With a non-powered stand aid, as computed: " in back.text.div


def test_what_ended_a_plan_early_is_told_with_who_sent_word_of_it() -> None:
    made = told(MADE, ALONE, END)
    assert made.activity.coding[0].code == "ended"
    assert (made.meta.version_id, made.recorded) == ("1.3", END.at)
    assert [one.text for one in made.reason] == [END.reason]
    assert ("enterer", END.actor) in agents(made)
    assert ("author", "S-77") in agents(made)
    assert made.text is not None
    assert f"as ward key sent word. Reason: {END.reason}" in made.text.div


def test_what_came_while_a_version_was_read_is_told_by_the_next_one() -> None:
    read = after(HELP, MADE, ALONE)
    assert provenance(read, MADE, ALONE, END) == provenance(read, MADE, ALONE)


def test_what_ended_the_plan_before_happened_when_it_was_told_of_that_one() -> None:
    before = END.at - timedelta(minutes=20)
    made = told(MADE, ALONE, replace(END, since=before))
    assert (made.occurred_date_time, made.recorded) == (before, END.at)
    usual = told(MADE, ALONE, END)
    assert made.text is not None
    assert usual.text is not None
    assert made.text.div != usual.text.div


def test_a_plan_that_ran_out_or_was_replaced_is_told_as_it_was_made() -> None:
    late = replace(END, at=HELP.plan.valid_until)
    assert told(MADE, late).activity.coding[0].code == "screened"
    gone = PlanEvent(PLAN_ID, 3, PlanEventKind.SUPERSEDED, AT, "ward key")
    assert told(MADE, ALONE, gone).activity.coding[0].code == "overruled"


def test_a_choice_for_the_plan_of_a_corrected_screen_has_both_reasons() -> None:
    changed = corrected(HELP)
    made = provenance(replace(after(HELP, MADE, ALONE), screen=changed.screen), MADE, ALONE)
    assert [one.text for one in made.reason] == ["Wrong leg.", REASON]
    assert made.meta.version_id == "2.2"


def test_a_choice_for_the_plan_of_a_withdrawn_screen_is_in_error_with_it() -> None:
    wrong = withdrawn(HELP)
    made = provenance(replace(after(HELP, MADE, ALONE), screen=wrong.screen), MADE, ALONE)
    assert made.activity.coding[0].code == "withdrawn"
    assert [one.text for one in made.reason] == ["Wrong person."]


def test_a_rule_book_that_was_asked_about_a_choice_alone_is_named_beside_the_other() -> None:
    newer = RuleBookRef("9.0.0", "cd" * 32)
    assert ALONE.overruled is not None
    made = told(MADE, replace(ALONE, overruled=replace(ALONE.overruled, rule_book=newer)))
    assert [one.version[0].value for one in made.contained] == [BOOK.ref.digest, newer.digest]
    assert agents(made)[-2:] == [("assembler", "#software"), ("assembler", "#software-2")]


@pytest.mark.parametrize(
    "events",
    [(MADE, ALONE), (MADE, ALONE, LIFTED, BACK), (MADE, ALONE, END)],
    ids=["overruled", "taken back", "ended early"],
)
def test_every_validator_takes_it_whatever_was_done_to_the_plan(
    events: tuple[PlanEvent, ...],
) -> None:
    raw = bytes_of(told(*events))
    assert resource_faults(read(raw)) == []
    assert form_faults(raw) == []
    assert parse_faults(raw) == []
    assert official_faults(read(raw)) == []
