"""Does an Observation say its finding, its state and where it comes from?"""

import pytest

from service.fhir.codes import NOT_KNOWN
from service.fhir.observation import (
    LONGEST_FINDING,
    More,
    coded,
    finding_id,
    frame_of,
    measured,
    missing,
)
from service.fhir.structs import CodeableConcept
from service.fhir.units import quantity
from tests.fhir.answers import (
    BARE,
    FULL,
    RECORDED_AT,
    SCREEN_ID,
    SITE,
    answer_to,
    corrected,
    withdrawn,
)

CODE = CodeableConcept(text="Strength")


def test_a_member_says_person_stay_time_performer_and_source() -> None:
    frame = frame_of(SITE, answer_to(FULL).screen)
    made = frame.member("stage-rise", CODE, measured(quantity(3, "s")))
    assert made.id == f"{SCREEN_ID}-stage-rise"
    assert made.identifier[0].value == made.id
    assert made.effective_date_time == FULL.observed_at
    assert made.encounter is not None
    assert [one.display for one in made.performer] == ["physiotherapist"]
    assert made.derived_from[0].reference == f"QuestionnaireResponse/{SCREEN_ID}"
    assert made.text is not None
    assert "Strength: 3 s." in made.text.div


def test_an_unnamed_assessor_leaves_the_performer_out() -> None:
    assert frame_of(SITE, answer_to(BARE).screen).performer == ()


def test_a_missing_value_gives_its_reason_and_no_value() -> None:
    made = frame_of(SITE, answer_to(BARE).screen).member("x", CODE, missing(NOT_KNOWN))
    assert made.data_absent_reason == NOT_KNOWN
    assert made.value_quantity is None
    assert made.value_codeable_concept is None


def test_a_coded_value_is_told_by_its_words() -> None:
    assert coded(CODE).words == "Strength"


def test_a_finding_fits_behind_a_screen_id() -> None:
    assert len(f"{SCREEN_ID}-") + LONGEST_FINDING == 64
    assert finding_id("stage", "knee_extension") == "stage-knee-extension"
    with pytest.raises(ValueError, match="too long"):
        finding_id("test", "a_name_that_is_far_too_long")


def test_a_finding_is_of_the_version_of_the_screen_that_it_is_made_from() -> None:
    record = corrected(answer_to(BARE)).screen
    made = frame_of(SITE, record).member("stage-rise", CODE, missing(NOT_KNOWN))
    assert (made.status, made.meta.version_id) == ("amended", "2")
    assert made.meta.last_updated == made.issued == record.recorded_at
    assert made.meta.profile == (SITE.profile("finding"),)


def test_what_was_measured_at_another_time_is_not_put_down_to_the_assessor() -> None:
    frame = frame_of(SITE, answer_to(FULL).screen)
    more = More(effective=RECORDED_AT)
    made = frame.member("vital-mass", CODE, measured(quantity(70, "kg")), more)
    assert made.effective_date_time == RECORDED_AT
    assert made.performer == ()


def test_a_withdrawn_screen_marks_its_findings_whatever_changed() -> None:
    frame = frame_of(SITE, withdrawn(answer_to(BARE)).screen)
    made = frame.member("x", CODE, missing(NOT_KNOWN))
    assert made.status == "entered-in-error"
    assert made.text is not None
    assert "Entered in error" in made.text.div


def test_the_panel_has_members_and_no_value() -> None:
    frame = frame_of(SITE, answer_to(BARE).screen)
    member = frame.member("x", CODE, missing(NOT_KNOWN))
    panel = frame.panel(("x",))
    assert panel.id == f"{SCREEN_ID}-panel"
    assert [one.reference for one in panel.has_member] == [f"Observation/{member.id}"]
    assert panel.data_absent_reason is None
