"""Is the answer to a screen a Bundle that every receiver can take?"""

import json
from collections.abc import Callable
from typing import Any

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from msgspec.structs import replace

from service.domain.record import Answer
from service.domain.screen import Screen
from service.fhir.bundle import bundle_of, observations_of, wrapped
from service.fhir.care_plan import care_plan_of
from service.fhir.codes import LOINC, SNOMED
from service.fhir.encode import bytes_of
from service.fhir.patient import patient_of
from service.fhir.resources import Observation
from service.fhir.site import STANDARD_SYSTEMS, site_of
from service.fhir.whole import first_standing
from tests.fhir.answers import (
    BARE,
    BASE,
    BOOK,
    EARLIER_PLAN,
    FULL,
    SCREEN_ID,
    SITE,
    STATES,
    answer_to,
    corrected,
)
from tests.fhir.own_checks import bundle_faults
from tests.fhir.validators import (
    form_faults,
    official_faults,
    parse_faults,
    read,
    without_decimals,
)
from tests.strategies import screens

States = pytest.mark.parametrize("made", STATES.values(), ids=STATES.keys())


def raw_bundle(answer: Answer) -> bytes:
    return bytes_of(bundle_of(site_of(BOOK, BASE), answer))


def resources(raw: bytes) -> list[dict[str, Any]]:
    return [entry["resource"] for entry in read(raw)["entry"]]


def of_kind(raw: bytes, kind: str) -> list[dict[str, Any]]:
    return [one for one in resources(raw) if one["resourceType"] == kind]


@States
def test_every_resource_is_valid_by_the_official_definitions(made: Callable[[], Answer]) -> None:
    bundle = without_decimals(raw_bundle(made()))
    found = [fault for entry in bundle["entry"] for fault in official_faults(entry["resource"])]
    assert found == []


def test_the_bundle_itself_is_valid_by_the_official_definitions() -> None:
    bundle = without_decimals(raw_bundle(answer_to(BARE)))
    bundle["entry"] = [one for one in bundle["entry"] if "Observation" not in one["fullUrl"]]
    assert official_faults(bundle) == []


@States
def test_the_second_validator_finds_nothing_and_gives_every_digit_back(
    made: Callable[[], Answer],
) -> None:
    assert form_faults(raw_bundle(made())) == []


@States
def test_the_models_of_the_next_release_read_it(made: Callable[[], Answer]) -> None:
    assert parse_faults(raw_bundle(made())) == []


@States
def test_our_own_checks_find_nothing(made: Callable[[], Answer]) -> None:
    assert bundle_faults(read(raw_bundle(made()))) == []


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(screen=screens())
def test_any_screen_gives_a_bundle_without_fault(screen: Screen) -> None:
    raw = raw_bundle(answer_to(screen))
    assert bundle_faults(read(raw)) == []
    assert form_faults(raw) == []


def test_a_screen_is_answered_in_one_collection_in_this_order() -> None:
    raw = raw_bundle(answer_to(FULL))
    kinds = [one["resourceType"] for one in resources(raw)]
    assert read(raw)["type"] == "collection"
    assert list(dict.fromkeys(kinds)) == [
        "Patient",
        "QuestionnaireResponse",
        "Observation",
        "CarePlan",
        "Goal",
        "Flag",
        "Task",
        "Provenance",
    ]
    assert kinds.count("CarePlan") == kinds.count("Provenance") == kinds.count("Patient") == 1


def test_every_observation_of_the_screen_is_named_in_a_panel_and_body_size_stands_alone() -> None:
    panel, *others = of_kind(raw_bundle(answer_to(FULL)), "Observation")
    held = [one["reference"] for each in (panel, *others) for one in each.get("hasMember", ())]
    assert len(held) == len(set(held))
    alone = {f"Observation/{one['id']}" for one in others} - set(held)
    sizes = ("vital-mass", "vital-stature", "vital-body-mass-index")
    assert alone == {f"Observation/{SCREEN_ID}-{size}" for size in sizes}
    assert not [name for name in panel if name.startswith("value")]


def test_every_resource_of_a_withdrawn_screen_says_so() -> None:
    raw = raw_bundle(STATES["withdrawn"]())
    spoken = [one["status"] for one in resources(raw) if "status" in one]
    assert set(spoken) == {"entered-in-error"}
    assert {
        activity["detail"]["status"]
        for plan in of_kind(raw, "CarePlan")
        for activity in plan["activity"]
    } == {"entered-in-error"}


def test_a_corrected_screen_amends_every_finding_when_nobody_says_which_changed() -> None:
    observations = observations_of(SITE, corrected(answer_to(BARE)))
    assert {one.status for one in observations} == {"amended"}


def test_findings_that_were_versioned_before_go_out_as_they_are() -> None:
    first = observations_of(SITE, answer_to(BARE))
    bundle = bundle_of(SITE, corrected(answer_to(BARE)), (), first)
    sent = [one.resource for one in bundle.entry if isinstance(one.resource, Observation)]
    assert {(one.status, one.meta.version_id) for one in sent} == {("final", "1")}
    assert json.loads(bytes_of(bundle))["entry"][-1]["resource"]["target"][1]["reference"] == (
        f"Observation/{SCREEN_ID}-panel/_history/1"
    )


def test_what_holds_for_the_patient_goes_out_while_this_plan_is_the_one_in_question() -> None:
    answer = answer_to(FULL)
    whole = first_standing(answer)
    other = replace(answer, plan=replace(answer.plan, id=EARLIER_PLAN))
    told = [
        {type(entry.resource).__name__ for entry in bundle_of(SITE, one, (), None, whole).entry}
        for one in (answer, other)
    ]
    assert told[0] - told[1] == {"Goal", "Flag", "Task"}


def test_a_plan_that_gave_way_goes_out_without_what_holds_for_the_patient_now() -> None:
    raw = raw_bundle(STATES["superseded"]())
    assert not [kind for kind in ("Goal", "Flag", "Task") if of_kind(raw, kind)]
    assert "goal" not in of_kind(raw, "CarePlan")[0]


def test_every_resource_names_the_profile_of_its_kind() -> None:
    told = resources(raw_bundle(answer_to(FULL)))
    named = {one["meta"]["profile"][0].rpartition("stanchion-")[2] for one in told}
    assert named == {
        "patient",
        "questionnaire-response",
        "panel",
        "finding",
        "vital-sign",
        "care-plan",
        "goal",
        "flag",
        "task",
        "provenance",
    }


@pytest.mark.parametrize("off", [SNOMED, LOINC])
def test_a_standard_that_is_switched_off_leaves_nowhere(off: str) -> None:
    answer = answer_to(FULL)
    assert off.encode() in bytes_of(bundle_of(site_of(BOOK, BASE), answer))
    quiet = site_of(BOOK, BASE, standard=STANDARD_SYSTEMS - {off})
    assert off.encode() not in bytes_of(bundle_of(quiet, answer))


@States
def test_an_answer_read_back_from_its_native_json_gives_the_same_bytes(
    made: Callable[[], Answer],
) -> None:
    answer = made()
    stored = msgspec.json.Encoder(decimal_format="number").encode(answer)
    assert raw_bundle(msgspec.json.decode(stored, type=Answer)) == raw_bundle(answer)


def test_hostile_text_arrives_as_text_and_never_as_markup() -> None:
    raw = raw_bundle(STATES["hostile"]())
    divs = [one["text"]["div"] for one in resources(raw)]
    assert not any("<script" in div for div in divs)
    assert any("&lt;script&gt;" in div for div in divs)
    assert any("\N{FACE WITH TEARS OF JOY}" in div for div in divs)


def test_a_list_is_a_searchset_of_matches_with_its_links() -> None:
    answer = answer_to(BARE)
    plan = care_plan_of(SITE, answer.plan, answer.screen)
    links = (("self", f"{BASE}/CarePlan"), ("next", f"{BASE}/CarePlan?page=x"))
    bundle = json.loads(bytes_of(wrapped(SITE, "searchset", [plan], 7, links)))
    assert bundle["total"] == 7
    assert [one["relation"] for one in bundle["link"]] == ["self", "next"]
    assert bundle["entry"][0]["search"] == {"mode": "match"}
    assert bundle["entry"][0]["fullUrl"] == f"{BASE}/CarePlan/{plan.id}"
    assert official_faults(bundle) == []


def test_a_collection_has_no_search_and_an_empty_list_no_entry() -> None:
    patient = patient_of(SITE, answer_to(BARE).screen)
    full = json.loads(bytes_of(wrapped(SITE, "collection", [patient])))
    empty = json.loads(bytes_of(wrapped(SITE, "collection", [])))
    assert "search" not in full["entry"][0]
    assert empty == {"resourceType": "Bundle", "type": "collection"}
