"""Is every kind of entry told as a valid AuditEvent that says no more than the entry?"""

from datetime import UTC, datetime

import msgspec
import pytest
from msgspec.structs import replace

from service.application.trail_ports import Noted
from service.fhir.audit_codes import _DEEDS
from service.fhir.audit_event import (
    AT_THE_KEYBOARD,
    audit_event_of,
    credential_of,
    patients_of,
    resource_of,
)
from service.fhir.encode import bytes_of
from tests.fhir.answers import PATIENT_ID, PLAN_ID, SCREEN_ID, SITE
from tests.fhir.validators import form_faults, official_faults, parse_faults

NOTED = Noted(
    chain=1,
    seq=42,
    at=datetime(2026, 3, 4, 7, 16, 0, 5, tzinfo=UTC),
    action="screen.read",
    credential="cred-1",
    name="ward",
    outcome="ok",
    request_id="request-1",
    patient=PATIENT_ID,
    target=SCREEN_ID,
)
OF_FHIR = ("careplan.read", "goal.vread", "flag.history", "observation.search", "task.validate")
ACTIONS = (*_DEEDS, *OF_FHIR, "unreadable", "something.new")
OUTCOMES = ("ok", "replayed", "not_found", "StaleVersion", "lacks system/Goal.r", "undone", "")


def told(noted: Noted) -> dict[str, object]:
    document: dict[str, object] = msgspec.json.decode(bytes_of(audit_event_of(SITE, noted)))
    return document


@pytest.mark.parametrize("action", ACTIONS)
def test_every_deed_is_valid_for_two_validators_and_a_third_parser(action: str) -> None:
    bare = {"patient": None, "target": None, "request_id": "", "credential": "", "name": ""}
    for noted in (replace(NOTED, action=action), replace(NOTED, action=action, **bare)):
        raw = bytes_of(audit_event_of(SITE, noted))
        faults = official_faults(msgspec.json.decode(raw)) + form_faults(raw) + parse_faults(raw)
        assert faults == []


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_every_outcome_is_valid(outcome: str) -> None:
    raw = bytes_of(audit_event_of(SITE, replace(NOTED, outcome=outcome)))
    assert official_faults(msgspec.json.decode(raw)) + form_faults(raw) + parse_faults(raw) == []


def test_it_says_who_what_whose_when_and_in_which_request() -> None:
    event = audit_event_of(SITE, NOTED)
    assert (event.id, event.recorded, event.action, event.outcome) == ("1-42", NOTED.at, "R", "0")
    (agent,) = event.agent
    assert agent.who.identifier is not None
    assert (agent.who.identifier.value, agent.alt_id, agent.name) == ("cred-1", "cred-1", "ward")
    assert agent.requestor is True
    references = [(one.what.reference, one.what.identifier) for one in event.entity]
    assert [reference for reference, _ in references] == [
        f"Patient/{PATIENT_ID}",
        f"QuestionnaireResponse/{SCREEN_ID}",
        None,
    ]
    request = references[2][1]
    assert request is not None
    assert request.value == "request-1"
    assert '"requestor":true' in bytes_of(event).decode()


def test_a_command_stands_under_a_name_of_its_own() -> None:
    command = replace(NOTED, credential="", name="command line")
    assert credential_of(command) == AT_THE_KEYBOARD
    assert audit_event_of(SITE, command).agent[0].alt_id == AT_THE_KEYBOARD


def test_both_sides_of_a_merge_are_patients_of_it() -> None:
    merge = replace(NOTED, action="patient.merge", target="into-1")
    assert patients_of(merge) == (PATIENT_ID, "into-1")
    assert [one.what.reference for one in audit_event_of(SITE, merge).entity][:2] == [
        f"Patient/{PATIENT_ID}",
        "Patient/into-1",
    ]


def test_what_is_no_id_of_a_resource_is_no_reference() -> None:
    plan = replace(NOTED, action="plan.read", target=PLAN_ID)
    assert resource_of(plan) == ("CarePlan", PLAN_ID)
    assert resource_of(replace(plan, target=None)) is None
    assert resource_of(replace(plan, target="no id of ours")) is None
    key = replace(NOTED, action="key.create", patient=None, target="key-1")
    assert resource_of(key) is None
    assert patients_of(key) == ()
    (what, _) = [one.what for one in audit_event_of(SITE, key).entity]
    assert what.reference is None
    assert what.identifier is not None
    assert what.identifier.value == "key-1"


def test_nothing_but_what_the_entry_holds_goes_out() -> None:
    words = {value for value in msgspec.structs.astuple(NOTED) if isinstance(value, str)}
    text = str(told(NOTED))
    assert all(word in text for word in words)
