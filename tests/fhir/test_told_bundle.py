"""Is a corrected screen told with each finding in the version that last changed it?"""

from datetime import timedelta

from msgspec.structs import replace

from service.application.told_whole import Told
from service.domain.record import Answer
from service.domain.stages import Attempt, Outcome
from service.fhir.bundle import bundle_of
from service.fhir.encode import bytes_of
from service.fhir.resources import Observation
from service.fhir.told_bundle import told_bundle
from service.fhir.whole import first_standing
from tests.fhir.answers import BARE, RECORDED_AT, SCREEN_ID, SITE, answer_to, corrected
from tests.fhir.own_checks import bundle_faults
from tests.fhir.validators import read

LATER = RECORDED_AT + timedelta(hours=1)
FIRST = answer_to(BARE)


def with_lean(answer: Answer) -> Answer:
    """``answer`` with another outcome of one stage."""
    stages = replace(answer.screen.content.stages, forward_lean=Attempt(outcome=Outcome.ACHIEVED))
    content = replace(answer.screen.content, stages=stages)
    return replace(answer, screen=replace(answer.screen, content=content, recorded_at=LATER))


SECOND = with_lean(corrected(FIRST))


def observations(answer: Answer, told: Told) -> dict[str, Observation]:
    found = [one.resource for one in told_bundle(SITE, answer, told).entry]
    return {
        str(one.id).removeprefix(f"{SCREEN_ID}-"): one
        for one in found
        if isinstance(one, Observation)
    }


def test_a_screen_that_was_never_changed_is_told_as_it_is() -> None:
    told = Told((), (), first_standing(FIRST))
    assert told_bundle(SITE, FIRST, told) == bundle_of(SITE, FIRST, (), None, told.standing)


def test_a_correction_amends_only_the_findings_that_it_changed() -> None:
    found = observations(SECOND, Told((), (FIRST, SECOND), first_standing(SECOND)))
    amended = {name for name, one in found.items() if one.status == "amended"}
    assert amended == {"stage-forward-lean"}
    lean = found.pop("stage-forward-lean")
    assert (lean.meta.version_id, lean.meta.last_updated, lean.issued) == ("2", LATER, LATER)
    assert {(one.status, one.meta.version_id, one.meta.last_updated) for one in found.values()} == {
        ("final", "1", RECORDED_AT)
    }


def test_what_a_later_correction_left_alone_keeps_the_version_that_changed_it() -> None:
    record = replace(SECOND.screen, version=3, recorded_at=LATER + timedelta(hours=1))
    third = replace(SECOND, screen=record)
    found = observations(third, Told((), (FIRST, SECOND, third), first_standing(third)))
    lean = found["stage-forward-lean"]
    assert (lean.status, lean.meta.version_id, lean.issued) == ("amended", "2", LATER)


def test_the_bundle_of_a_corrected_screen_holds_together() -> None:
    told = Told((), (FIRST, SECOND), first_standing(SECOND))
    assert bundle_faults(read(bytes_of(told_bundle(SITE, SECOND, told)))) == []
