"""Is every link id of the form known, with the group it stands in?"""

from service.fhir.read_form import is_instruction, questions_of
from service.fhir.site import site_of
from tests.fhir.answers import BASE, BOOK, FULL, HELPED, SITE
from tests.fhir.responses import Raw, response_to

QUESTIONS = questions_of(SITE.form)


def stand(items: list[Raw], above: str) -> None:
    for item in items:
        question = QUESTIONS[item["linkId"]]
        assert question.above == above, item["linkId"]
        stand(item.get("item", []), item["linkId"])


def test_every_item_that_goes_out_is_known_in_its_place() -> None:
    for screen in (FULL, HELPED):
        stand(response_to(screen)["item"], "")


def test_what_is_asked_beside_a_field_is_for_the_same_field() -> None:
    unable = QUESTIONS["tests.sppb.gait_4m_s.unable"]
    assert (unable.item.name, unable.item.kind, unable.above) == (
        "gait_4m_s",
        "unable",
        "tests.sppb",
    )
    listed = QUESTIONS["context.devices.listed"]
    assert (listed.item.name, listed.item.kind, listed.above) == ("devices", "each", "context")
    assert QUESTIONS["context.devices.listed.label"].above == "context.devices.listed"


def test_the_index_is_made_once_for_a_form() -> None:
    assert questions_of(SITE.form) is QUESTIONS
    other = site_of(BOOK, BASE, "https://other.example/fhir")
    assert questions_of(other.form) is not QUESTIONS
    assert questions_of(other.form).keys() == QUESTIONS.keys()


def test_an_instruction_is_known_by_what_it_stands_before_and_holds_nothing() -> None:
    assert is_instruction(QUESTIONS, {"linkId": "readiness.rass.asks", "text": "How awake?"})
    assert not is_instruction(QUESTIONS, {"linkId": "readiness.rass"})
    assert not is_instruction(QUESTIONS, {"linkId": "readiness.unheard_of.asks"})
    assert not is_instruction(QUESTIONS, {"linkId": "readiness.rass.asks", "answer": [{}]})
    assert not is_instruction(QUESTIONS, {})
