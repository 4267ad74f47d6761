"""Is the answer to a Bundle good R4?"""

import msgspec
from msgspec.structs import replace

from service.fhir.answer_entries import (
    AnsweredEntry,
    EntryResponse,
    answered_bundle,
    made_outcome,
)
from service.fhir.encode import bytes_of
from service.fhir.outcome import outcome_for_status
from service.fhir.questionnaire_response import response_of
from tests.fhir.answers import BARE, BASE, RECORDED_AT, SITE, answer_to
from tests.fhir.validators import form_faults, official_faults, parse_faults, read, without_decimals

ANSWER = answer_to(BARE)


def test_an_answer_of_every_kind_is_good() -> None:
    told = response_of(SITE, ANSWER.screen)
    other = response_of(SITE, replace(ANSWER.screen, id="01957a3c-0000-7c41-9a6b-0c1d2e3f4a5b"))
    entries = (
        AnsweredEntry(
            full_url=f"{BASE}/QuestionnaireResponse/{told.id}",
            resource=told,
            response=EntryResponse(
                status="201 Created",
                location=f"{BASE}/QuestionnaireResponse/{told.id}/_history/1",
                etag='W/"1"',
                last_modified=RECORDED_AT,
            ),
        ),
        AnsweredEntry(
            response=EntryResponse(
                status="422 Unprocessable Entity", outcome=outcome_for_status(422, "No.")
            )
        ),
        AnsweredEntry(
            resource=msgspec.Raw(bytes_of(other)), response=EntryResponse(status="200 OK")
        ),
        AnsweredEntry(response=EntryResponse(status="200 OK", outcome=made_outcome(ANSWER))),
    )
    for kind in ("transaction", "batch"):
        raw = bytes_of(answered_bundle(kind, entries))
        assert read(raw)["type"] == f"{kind}-response"
        assert len(read(raw)["entry"]) == len(entries)
        assert form_faults(raw) == []
        assert parse_faults(raw) == []
        # the validator takes an invariant of a fullUrl that is not there for broken
        told_faults = official_faults(without_decimals(raw))
        assert [fault for fault in told_faults if "bdl-8" not in fault] == []


def test_what_was_made_is_listed_and_is_good() -> None:
    raw = bytes_of(made_outcome(ANSWER))
    assert official_faults(read(raw)) == []
    assert {issue["severity"] for issue in read(raw)["issue"]} == {"information"}
