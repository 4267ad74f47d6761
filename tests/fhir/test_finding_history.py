"""Does a new version of a screen make new versions of those findings alone that it changed?"""

from datetime import datetime, timedelta
from typing import Any

from msgspec.structs import replace

from service.domain.record import Answer, ScreenStatus
from service.domain.screen import Screen
from service.domain.stages import Attempt, Outcome
from service.fhir.finding_history import Findings, findings_of
from service.fhir.narrative import said, struck
from tests.fhir.answers import HELPED, SITE, answer_to

FIRST = answer_to(HELPED)
PAIN = "Pain, 0 to 10: 4."


def version(number: int, content: Screen, status: ScreenStatus = ScreenStatus.AMENDED) -> Answer:
    """The same screen at a later version."""
    made = answer_to(content)
    at: datetime = FIRST.screen.recorded_at + timedelta(minutes=number)
    record = replace(made.screen, id=FIRST.screen.id, version=number, status=status, recorded_at=at)
    return replace(made, screen=record)


def corrected(**stages: Any) -> Screen:
    content = FIRST.screen.content
    return replace(content, stages=replace(content.stages, **stages))


def told(findings: Findings, finding: str) -> list[tuple[str | None, str]]:
    name = f"{FIRST.screen.id}-{finding}"
    return [(one.meta.version_id, one.status) for one in findings.of(name)]


def test_a_first_version_is_that_of_every_finding() -> None:
    findings = findings_of(SITE, [FIRST])
    assert {one.meta.version_id for one in findings.newest()} == {"1"}
    assert {one.status for one in findings.newest()} == {"final"}


def test_a_correction_amends_what_it_changed_and_nothing_else() -> None:
    lean = Attempt(outcome=Outcome.NOT_ACHIEVED)
    assert FIRST.screen.content.stages.forward_lean != lean
    second = version(2, corrected(forward_lean=lean))
    findings = findings_of(SITE, [FIRST, second])
    assert told(findings, "stage-forward-lean") == [("2", "amended"), ("1", "final")]
    assert told(findings, "stage-sitting-balance") == [("1", "final")]
    by_version = {one.meta.version_id for one in findings.newest()}
    assert by_version == {"1", "2"}
    for one in findings.newest():
        assert one.meta.last_updated == one.issued
        expected = second if one.meta.version_id == "2" else FIRST
        assert one.issued == expected.screen.recorded_at


def test_another_hour_of_observation_amends_every_finding() -> None:
    content = FIRST.screen.content
    moved = replace(content, observed_at=content.observed_at + timedelta(minutes=5))
    findings = findings_of(SITE, [FIRST, version(2, moved)])
    assert {one.meta.version_id for one in findings.newest()} == {"2"}


def test_a_finding_that_a_correction_brings_in_is_final_until_another_changes_it() -> None:
    content = FIRST.screen.content
    bare = replace(content, readiness=replace(content.readiness, pain_0_10=None))
    some = replace(content, readiness=replace(content.readiness, pain_0_10=4))
    more = replace(content, readiness=replace(content.readiness, pain_0_10=5))
    gone = version(4, more, ScreenStatus.WITHDRAWN)
    history = [version(1, bare, ScreenStatus.FINAL), version(2, some), version(3, more), gone]
    assert told(findings_of(SITE, history), "ready-pain-0-10") == [
        ("4", "entered-in-error"),
        ("3", "amended"),
        ("2", "final"),
    ]
    assert told(findings_of(SITE, history), "panel")[1] == ("2", "amended")


def test_where_the_first_versions_are_not_looked_at_nothing_is_taken_for_new() -> None:
    findings = findings_of(SITE, [version(7, FIRST.screen.content)])
    assert {one.status for one in findings.newest()} == {"amended"}


def test_a_finding_that_a_correction_took_away_is_entered_in_error() -> None:
    content = FIRST.screen.content
    symptoms = replace(content, readiness=replace(content.readiness, pain_0_10=4))
    first = version(1, symptoms, ScreenStatus.FINAL)
    bare = replace(content, readiness=replace(content.readiness, pain_0_10=None))
    second = version(2, bare)
    findings = findings_of(SITE, [first, second])
    assert told(findings, "ready-pain-0-10") == [("2", "entered-in-error"), ("1", "final")]
    assert f"{FIRST.screen.id}-ready-pain-0-10" in [one.id for one in findings.newest()]
    back = findings_of(SITE, [first, second, version(3, symptoms)])
    assert told(back, "ready-pain-0-10")[0] == ("3", "amended")
    error, sound = findings.of(f"{FIRST.screen.id}-ready-pain-0-10")
    assert (error.text, sound.text) == (struck(said(PAIN)), said(PAIN))
    still = findings_of(SITE, [first, second, version(3, bare)])
    assert told(still, "ready-pain-0-10")[0] == ("2", "entered-in-error")


def test_a_withdrawal_is_a_new_version_of_every_finding() -> None:
    content = FIRST.screen.content
    gone = version(2, content, ScreenStatus.WITHDRAWN)
    findings = findings_of(SITE, [FIRST, gone])
    assert {(one.meta.version_id, one.status) for one in findings.newest()} == {
        ("2", "entered-in-error")
    }
    assert told(findings, "panel") == [("2", "entered-in-error"), ("1", "final")]


def test_what_is_no_finding_has_no_versions() -> None:
    assert findings_of(SITE, [FIRST]).of(f"{FIRST.screen.id}-nothing") == ()
