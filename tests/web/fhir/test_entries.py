"""Does the answer to an entry say what came of it, with its status in words?"""

import msgspec

from service.domain.problem import Conflict, Fault, NotAllowed, Refused, Unavailable
from service.web.fhir.conditions import Returned
from service.web.fhir.deeds import Done
from service.web.fhir.entries import entry_of, entry_of_patient, entry_of_problem, entry_of_read
from service.web.fhir.reading_within import Within
from tests.fhir.answers import BARE, BASE, SITE, answer_to

DONE = Done(201, answer_to(BARE))
SCREEN = DONE.answer.screen


def test_what_was_made_has_its_place_and_version() -> None:
    told = entry_of(SITE, DONE, Returned.MINIMAL).response
    assert told.status == "201 Created"
    assert told.location == f"{BASE}/QuestionnaireResponse/{SCREEN.id}/_history/1"
    assert (told.etag, told.last_modified) == ('W/"1"', SCREEN.recorded_at)


def test_the_resource_or_an_outcome_comes_where_it_is_asked_for() -> None:
    whole = entry_of(SITE, DONE, Returned.REPRESENTATION)
    assert whole.full_url == f"{BASE}/QuestionnaireResponse/{SCREEN.id}"
    assert whole.resource is not None
    assert entry_of(SITE, DONE, Returned.OUTCOME).response.outcome is not None
    bare = entry_of(SITE, DONE, Returned.MINIMAL)
    assert (bare.full_url, bare.resource, bare.response.outcome) == (None, None, None)


def test_a_patient_is_new_or_was_known() -> None:
    new, known = (entry_of_patient(SITE, "7", new=new).response for new in (True, False))
    assert (new.status, known.status) == ("201 Created", "200 OK")
    assert new.location == f"{BASE}/Patient/7"


def test_a_problem_has_its_status_and_its_faults() -> None:
    found = {
        type(problem): entry_of_problem(problem).response.status
        for problem in (
            Refused("x", (Fault("/a", "form.place", "x"),)),
            Conflict("x"),
            NotAllowed("x", known=True),
            Unavailable("x"),
        )
    }
    assert found == {
        Refused: "422 Unprocessable Entity",
        Conflict: "409 Conflict",
        NotAllowed: "403 Forbidden",
        Unavailable: "503 Service Unavailable",
    }


def test_a_read_is_told_as_it_came() -> None:
    headers = {"etag": 'W/"2"', "last-modified": "Wed, 04 Mar 2026 07:20:05 GMT"}
    good = entry_of_read(Within(200, headers, b'{"resourceType":"Patient"}'))
    assert good.resource == msgspec.Raw(b'{"resourceType":"Patient"}')
    assert b'"lastModified":"2026-03-04T07:20:05Z"' in msgspec.json.encode(good)
    bad = entry_of_read(Within(404, {}, b'{"resourceType":"OperationOutcome"}'))
    assert (bad.resource, bad.response.status) == (None, "404 Not Found")
    assert bad.response.outcome == msgspec.Raw(b'{"resourceType":"OperationOutcome"}')
    held = entry_of_read(Within(304, headers, b""))
    assert (held.resource, held.response.outcome) == (None, None)
