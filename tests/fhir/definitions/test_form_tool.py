"""Does a form tool that knows only the published form send the screen that was meant?"""

from random import Random

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.demo.scenario import Sample, here
from service.demo.scenario import read as read_samples
from service.domain.problem import Refused
from service.domain.screen import Screen
from service.domain.sense import faults_of
from service.domain.sense_rules import RULES
from service.fhir.definitions.questionnaire import questionnaire
from service.fhir.encode import bytes_of
from service.fhir.read_response import draft_of, screen_of
from tests.fhir.answers import SITE
from tests.fhir.definitions.any_filling import filled_at_random
from tests.fhir.definitions.form_tool import filled
from tests.fhir.definitions.shown import disagreements
from tests.fhir.responses import read_screen
from tests.fhir.validators import read
from tests.strategies import NOW

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


OF_WHAT_IS_HIDDEN = {
    "form.contradiction", "sense.end_without_seconds", "sense.hands_not_attempted",
    "sense.help_missing", "sense.help_unexpected", "sense.lift_unexpected",
    "sense.measured_without_value", "sense.percent_missing", "sense.percent_unexpected",
    "sense.seconds_not_attempted", "sense.stand_without_rise", "sense.stop_rule",
}  # fmt: skip
"""Faults that an answer has which stands where the form should have hidden it, or hid too much."""


@settings(max_examples=60)
@given(dice=st.randoms(use_true_random=False))
def test_nothing_that_the_form_shows_is_refused_for_what_it_hides(dice: Random) -> None:
    response = filled_at_random(FORM, dice)
    assert disagreements(FORM, response) == []
    draft = draft_of(SITE, response)
    try:
        rules = {one.rule for one in faults_of(screen_of(draft), NOW)}
    except Refused as problem:
        rules = {one.rule for one in problem.faults}
    assert not rules & OF_WHAT_IS_HIDDEN


def test_the_words_for_it_are_words_that_are_said() -> None:
    assert set(RULES) >= OF_WHAT_IS_HIDDEN - {"form.contradiction"}
