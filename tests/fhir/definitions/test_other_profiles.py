"""What is promised of the resources that are neither findings nor plans?"""

from service.fhir.definitions import other_profiles as others
from tests.fhir.answers import SITE

PROMISES = {
    "Patient": others.patient,
    "QuestionnaireResponse": others.response,
    "Provenance": others.provenance,
    "Goal": others.goal,
    "Flag": others.flag,
    "Task": others.task,
    "Device": others.device,
}
TOLD = {one.id: one for make in PROMISES.values() for one in make(SITE)}


def test_every_profile_begins_with_its_type_and_says_what_it_is() -> None:
    for kind, make in PROMISES.items():
        first = make(SITE)[0]
        assert first.id == kind
        assert first.definition


def test_whose_it_is_is_always_told_with_the_business_identifier() -> None:
    for place in ("QuestionnaireResponse.subject", "Goal.subject", "Flag.subject", "Task.for"):
        assert TOLD[place].min == 1
        assert TOLD[f"{place}.identifier"].min == 1
    assert TOLD["Patient.identifier"].min == 1


def test_a_task_is_a_plan_and_nobodys_order() -> None:
    assert TOLD["Task.intent"].fixed_code == "plan"
    assert TOLD["Task.owner"].max == "0"


def test_a_response_answers_our_form_of_a_stated_version() -> None:
    (rule,) = TOLD["QuestionnaireResponse"].constraint
    assert f"{SITE.canonical}/Questionnaire/bedside-mobility-screen|" in rule.expression


def test_a_flag_has_one_of_our_codes() -> None:
    binding = TOLD["Flag.code"].binding
    assert binding is not None
    assert binding.strength == "required"
