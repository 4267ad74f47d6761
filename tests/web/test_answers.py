"""Does every operation tell each status that it may answer with?"""

from service.web.answers import HEADERS, RESPONSES
from service.web.document import document
from service.web.problems import PROBLEM_JSON, TITLES
from service.web.routes import OPERATIONS


def test_every_refusal_is_told_in_both_languages() -> None:
    assert set(RESPONSES) == {str(status) for status in TITLES}
    for told in RESPONSES.values():
        assert set(told["content"]) == {PROBLEM_JSON, "application/fhir+json"}


def test_every_guarded_operation_may_answer_401_and_503_and_each_406_and_500() -> None:
    for one in OPERATIONS:
        told = set(document()["paths"][one.path][one.method.lower()]["responses"])
        assert {"400", "406", "500"} <= told
        assert one.open or {"401", "403", "503"} <= told
        assert one.body is None or {"408", "413", "415", "422"} <= told


def test_headers_that_tell_when_and_how_are_described() -> None:
    assert "Retry-After" in RESPONSES["503"]["headers"]
    assert "WWW-Authenticate" in RESPONSES["401"]["headers"]
    used = {name for one in OPERATIONS for given in one.answers.values() for name in given.headers}
    assert used <= set(HEADERS)
