"""Is readiness told, and what nobody recorded told as not known?"""

from msgspec.structs import replace

from service.domain.readiness import Readiness
from service.fhir.codes import NOT_KNOWN
from service.fhir.observation import frame_of
from service.fhir.readiness_findings import readiness_findings
from service.fhir.resources import Observation
from tests.fhir.answers import BARE, FULL, SITE, answer_to


def found(readiness: Readiness) -> dict[str, Observation]:
    record = answer_to(BARE).screen
    content = replace(BARE, readiness=readiness)
    made = readiness_findings(frame_of(SITE, replace(record, content=content)))
    return {one.code.coding[0].code: one for one in made}


def test_what_was_not_recorded_is_not_known_and_never_left_out() -> None:
    made = found(Readiness())
    assert set(made) == {"rass", "instructions", "cooperation"}
    assert {one.data_absent_reason for one in made.values()} == {NOT_KNOWN}


def test_what_was_recorded_is_told() -> None:
    made = found(FULL.readiness)
    assert made["rass"].value_integer == 0
    pain = made["pain_0_10"].value_quantity
    assert pain is not None
    assert (pain.value, pain.code) == (3, "{score}")
    assert made["instructions"].value_codeable_concept is not None
    assert made["instructions"].value_codeable_concept.coding[0].code == "two_step"
    assert made["cooperation"].value_codeable_concept is not None


def test_every_symptom_is_a_component() -> None:
    symptoms = found(FULL.readiness)["symptoms"]
    told = [one.value_codeable_concept for one in symptoms.component]
    assert [one.coding[0].code for one in told if one] == ["dizziness", "nausea"]
    assert symptoms.text is not None
    assert "Symptoms: dizziness, nausea." in symptoms.text.div


def test_anaesthesia_is_told_where_it_is() -> None:
    assert found(Readiness(anaesthetised=True))["anaesthetised"].value_boolean is True


def test_pain_has_the_standard_code_beside_our_own_and_alertness_has_none() -> None:
    made = found(FULL.readiness)
    assert [one.code for one in made["pain_0_10"].code.coding] == ["pain_0_10", "72514-3"]
    assert len(made["rass"].code.coding) == 1
