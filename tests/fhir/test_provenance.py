"""Does the Provenance name who and what made exactly these versions, and from what?"""

from msgspec.structs import replace

from service.domain.plan import RuleBookRef
from service.domain.record import Answer
from service.fhir.bundle import observations_of
from service.fhir.care_plan import care_plan_of
from service.fhir.provenance import provenance_of
from service.fhir.resources import Provenance
from tests.fhir.answers import (
    BARE,
    BOOK,
    FULL,
    PLAN_ID,
    SCREEN_ID,
    SITE,
    answer_to,
    corrected,
    withdrawn,
)


def provenance(answer: Answer) -> Provenance:
    plan = care_plan_of(SITE, answer.plan, answer.screen)
    return provenance_of(SITE, answer, plan, observations_of(SITE, answer))


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
