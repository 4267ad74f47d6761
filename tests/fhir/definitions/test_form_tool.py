"""Does a form tool that knows only the published form send the screen that was meant?"""

import msgspec
import pytest

from service.demo.scenario import Sample, here
from service.demo.scenario import read as read_samples
from service.domain.screen import Screen
from service.fhir.definitions.questionnaire import questionnaire
from service.fhir.encode import bytes_of
from tests.fhir.answers import SITE
from tests.fhir.definitions.form_tool import filled
from tests.fhir.definitions.shown import disagreements
from tests.fhir.responses import read_screen
from tests.fhir.validators import read

FORM = read(bytes_of(questionnaire(SITE)))
SAMPLES = read_samples(here())


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.name)
def test_the_screen_comes_back_as_it_was_noted(sample: Sample) -> None:
    response = filled(FORM, read(sample.request.encode()))
    assert disagreements(FORM, response) == []
    assert read_screen(response) == sample.screen


def test_a_form_that_is_left_as_it_opens_is_a_screen_of_what_was_not_attempted() -> None:
    notes = {
        "patient": {"identifier": {"system": "urn:oid:2.999.7", "value": "H-1"}, "age_years": 71},
        "observed_at": "2026-03-04T08:15:00+01:00",
        "orders": {"precautions": []},
        "readiness": {},
        "stages": {},
    }
    opened = filled(FORM, notes)
    assert disagreements(FORM, opened) == []
    assert read_screen(opened) == msgspec.convert(notes, Screen)
