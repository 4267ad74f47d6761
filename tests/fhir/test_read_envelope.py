"""Does what stands outside the items agree with them, or stand in for them?"""

from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.value import Identifier
from service.fhir.read_response import draft_of
from tests.fhir.answers import FULL, SITE
from tests.fhir.responses import FORM, Raw, answer_of, faults_of, full, plain, read_screen, without

REASON = "https://stanchion.example/fhir/StructureDefinition/correction-reason"


def bent(**more: Any) -> Raw:
    return {**full(), **more}


@pytest.mark.parametrize("named", [FORM, f"{FORM}|1.0.0", f"{FORM}|1.7.2"])
def test_the_form_is_named_with_or_without_a_version_that_is_read(named: str) -> None:
    assert read_screen(bent(questionnaire=named)) == FULL


@pytest.mark.parametrize("named", [f"{FORM}|2.0.0", "urn:x", f"{FORM}/", "", None])
def test_another_form_or_version_or_none_is_refused(named: str | None) -> None:
    raw = bent(questionnaire=named) if named is not None else full()
    if named is None:
        del raw["questionnaire"]
    assert ("/questionnaire", "form.questionnaire") in faults_of(raw)


@pytest.mark.parametrize("status", ["done", 7, None])
def test_an_unknown_status_is_one_fault_of_status(status: Any) -> None:
    assert ("/status", "form.status") in faults_of(bent(status=status))


def test_what_would_not_be_kept_is_refused() -> None:
    reference = [{"reference": "ServiceRequest/1"}]
    raw = bent(basedOn=reference, partOf=reference, implicitRules="urn:x")
    raw["meta"]["security"] = [{"code": "R"}]
    assert set(faults_of(raw)) == {
        (f"/{name}", "form.not_kept")
        for name in ("basedOn", "partOf", "implicitRules", "meta/security")
    }


def test_known_profiles_and_tags_are_let_be_and_others_refused() -> None:
    raw = full()
    raw["meta"] = {
        "tag": [{"code": "form-tool 3"}],
        "profile": [
            "http://hl7.org/fhir/4.0/StructureDefinition/QuestionnaireResponse",
            "http://hl7.org/fhir/uv/sdc/StructureDefinition/sdc-questionnaireresponse|3.0.0",
            "https://stanchion.example/fhir/StructureDefinition/stanchion-questionnaire-response",
        ],
    }
    assert read_screen(raw) == FULL
    raw["meta"]["profile"].append("http://ehr.example/StructureDefinition/own")
    assert faults_of(raw) == [("/meta/profile/3", "form.profile")]


def test_a_part_of_a_response_is_not_taken_for_the_whole() -> None:
    raw = full()
    tag = {"system": "http://terminology.hl7.org/CodeSystem/v3-ObservationValue"}
    raw["meta"]["tag"] = [{"code": "form-tool 3"}, {**tag, "code": "SUBSETTED"}]
    assert faults_of(raw) == [("/meta/tag/1", "form.part")]


@pytest.mark.parametrize("status", ["generated", "extensions", "empty"])
def test_a_narrative_that_says_no_more_than_the_answers_is_let_be(status: str) -> None:
    assert read_screen(bent(text={**full()["text"], "status": status})) == FULL


def test_a_narrative_that_says_more_than_the_answers_is_refused() -> None:
    raw = bent(text={**full()["text"], "status": "additional"})
    assert faults_of(raw) == [("/text/status", "form.not_kept")]


# ── the sender's id ────────────────────────────────────────────────────────────────────────────


def test_an_identifier_becomes_the_source_id() -> None:
    raw = {**without(plain(), "source_id"), "identifier": {"system": "urn:s", "value": "7"}}
    assert read_screen(raw).source_id == "urn:s|7"


def test_an_identifier_and_an_item_must_say_the_same() -> None:
    raw = {**plain(), "identifier": {"system": "urn:s", "value": "7"}}
    assert faults_of(raw) == [("/identifier", "form.disagrees")]
    answer_of(raw, "source_id")["valueString"] = "urn:s|7"
    assert read_screen(raw).source_id == "urn:s|7"


def test_an_id_of_ours_is_no_source_id() -> None:
    draft = draft_of(SITE, full())
    assert draft.own == full()["identifier"]["value"]
    assert draft.source is None


@pytest.mark.parametrize(
    "identifier",
    [{"value": "7"}, {"system": "urn:s"}, {"system": "urn:s", "value": "7", "use": "old"}],
)
def test_half_an_identifier_or_an_old_one_is_refused(identifier: Raw) -> None:
    assert faults_of({**plain(), "identifier": identifier}) == [("/identifier", "form.identifier")]


def test_a_source_id_that_is_too_long_is_placed_at_the_identifier() -> None:
    long = {"system": "urn:s", "value": "7" * 200}
    raw = {**without(plain(), "source_id"), "identifier": long}
    assert faults_of(raw) == [("/identifier", "shape.length")]


# ── when ───────────────────────────────────────────────────────────────────────────────────────


def test_authored_stands_in_for_the_time_observed() -> None:
    raw = {**without(plain(), "observed_at"), "authored": "2026-03-04T08:15:00+01:00"}
    assert read_screen(raw) == FULL
    for authored in ("2026-03-04", "2026"):
        assert faults_of({**raw, "authored": authored}) == [("/authored", "form.authored")]
    del raw["authored"]
    assert faults_of(raw) == [("", "shape.missing")]


@pytest.mark.parametrize(
    ("authored", "good"),
    [
        ("2026-03-04T08:15:00+01:00", True),
        ("2026-03-04T07:15:00Z", True),
        ("2026-03-04T08:14:30+01:00", True),
        ("2026-03-04T08:13:59+01:00", False),
        ("2026-03-05", True),
        ("2026-03", True),
        ("2026-03-03", False),
        ("2025", False),
        ("2027-01-01T00:00:00Z", True),
    ],
)
def test_answers_are_not_older_than_what_was_observed(authored: str, good: bool) -> None:  # noqa: FBT001
    expected = [] if good else [("/authored", "form.disagrees")]
    assert faults_of({**plain(), "authored": authored}) == expected


def test_a_time_that_cannot_be_read_is_no_fault_twice() -> None:
    raw = plain()
    answer_of(raw, "observed_at")["valueDateTime"] = "2026-02-30T08:15:00Z"
    assert [rule for _, rule in faults_of(raw)] == ["shape.time"]
    answer_of(raw, "observed_at").clear()
    answer_of(raw, "observed_at")["valueString"] = "now"
    assert [rule for _, rule in faults_of(raw)] == ["form.answer_type"]


# ── why ────────────────────────────────────────────────────────────────────────────────────────


def test_a_reason_of_a_correction_is_read() -> None:
    raw = bent(extension=[{"url": REASON, "valueString": "Mistyped."}])
    draft = draft_of(SITE, raw)
    assert (draft.reason, draft.reading.faults) == ("Mistyped.", [])


@pytest.mark.parametrize(
    ("extension", "rule"),
    [
        ({"url": REASON}, "form.extension"),
        ({"url": REASON, "valueString": "x" * 1001}, "form.extension"),
        ({"url": REASON, "valueString": " outer "}, "sense.outer_space"),
        ({"url": "urn:x", "valueString": "x"}, "form.extension"),
        ({"url": REASON, "valueString": "x", "valueCode": "y"}, "form.extension"),
        ({"url": REASON, "valueString": "x", "extension": [{"url": "urn:x"}]}, "form.extension"),
    ],
)
def test_a_reason_that_cannot_be_kept_is_refused(extension: Raw, rule: str) -> None:
    assert faults_of(bent(extension=[extension])) == [("/extension/0", rule)]


def test_a_reason_is_said_once() -> None:
    reason = {"url": REASON, "valueString": "Mistyped."}
    assert faults_of(bent(extension=[reason, reason])) == [("/extension/1", "form.extension")]


def test_who_answered_is_the_author_or_the_subject() -> None:
    raw = full()
    for same in (raw["author"], raw["subject"]):
        assert read_screen({**raw, "source": same}) == FULL
    other = {"identifier": {"system": "urn:x", "value": "1"}}
    assert faults_of({**raw, "source": other}) == [("/source", "form.not_kept")]


def test_the_items_are_not_changed_by_what_agrees() -> None:
    raw = {**plain(), "subject": full()["subject"], "author": full()["author"]}
    assert read_screen(raw) == FULL
    moved = replace(FULL.patient, identifier=Identifier(system="urn:x", value="1"))
    assert read_screen(plain(replace(FULL, patient=moved))).patient == moved
