"""Does every place of a screen lead to the finding that tells it, if any does?"""

import pytest

from service.fhir.bundle import observations_of
from service.fhir.evidence import finding_at
from tests.fhir.answers import FULL, SCREEN_ID, SITE, answer_to

TOLD = {str(one.id).removeprefix(f"{SCREEN_ID}-") for one in observations_of(SITE, answer_to(FULL))}


@pytest.mark.parametrize(
    ("path", "finding"),
    [
        ("/stages/rise/outcome", "stage-rise"),
        ("/stages/knee_extension/left/mrc_grade", "stage-knee-extension"),
        ("/signs/0", "stage-weight-shift"),
        ("/signs/1", "stage-rise"),
        ("/tests/five_times_sit_to_stand", "test-five-sit-to-stand"),
        ("/readiness/rass", "ready-rass"),
        ("/readiness/symptoms/0", "ready-symptoms"),
        ("/readiness/vital_signs/spo2_percent", "vital-spo2"),
        ("/readiness/vital_signs/systolic_mmhg", "vital-blood-pressure"),
        ("/readiness/orthostatic/standing/systolic_mmhg", "vital-pressure-standing"),
        ("/patient/mass_kg", "vital-mass"),
    ],
)
def test_a_place_leads_to_a_finding_that_goes_out(path: str, finding: str) -> None:
    assert finding_at(FULL, path) == finding
    assert finding in TOLD


@pytest.mark.parametrize(
    "path",
    [
        "/orders/weight_bearing/left_leg",
        "/orders/precautions/0",
        "/context/chair/reclines",
        "/patient/falls_last_12_months",
        "/readiness/vital_signs",
        "/readiness/vital_signs/oxygen_support",
        "/stages",
    ],
)
def test_what_only_the_response_tells_leads_nowhere(path: str) -> None:
    assert finding_at(FULL, path) is None


def test_whatever_set_a_grade_is_named_by_the_observations_that_go_out() -> None:
    named = {
        str(one.reference)
        for made in observations_of(SITE, answer_to(FULL))
        for one in made.derived_from
        if str(one.reference).startswith("Observation/")
    }
    assert f"Observation/{SCREEN_ID}-stage-rise" in named
    assert named <= {f"Observation/{SCREEN_ID}-{finding}" for finding in TOLD}
