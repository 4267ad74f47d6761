"""How do the scored tests become Observations with interpretation and cut points?"""

from collections.abc import Callable
from decimal import Decimal

from service.domain.measured_tests import MeasuredTests
from service.domain.score import Judgement, TestScore
from service.fhir.codes import NOT_ABLE, NOT_PERFORMED, TEST_CATEGORY
from service.fhir.observation import Frame, More, finding_id, measured, missing
from service.fhir.resources import Component, Observation
from service.fhir.score_ranges import Judged, judged, ranges, sides
from service.fhir.site import Site
from service.fhir.structs import Annotation, CodeableConcept
from service.fhir.text import sentence, tidy
from service.fhir.units import quantity, shown, unit_of, without_unit, written
from service.rules.norms import Person, person_of

_NO_SCORE = {"five_times_sit_to_stand": NOT_ABLE}
"""The one test that is sent without a value by whoever tried and could not finish."""
_FOUR_METRES = Decimal(4)
_Norms = tuple[list[Judged], Person]
"""What was judged, and of whom."""


def score_findings(frame: Frame, tests: tuple[TestScore, ...]) -> list[Observation]:
    """One Observation a test."""
    return [_finding(frame, test) for test in tests]


def _finding(frame: Frame, test: TestScore) -> Observation:
    site = frame.site
    done = frame.record.content.tests
    value = missing(_NO_SCORE.get(test.test, NOT_PERFORMED))
    if test.score is not None:
        value = measured(quantity(test.score, test.unit))
    told = [*[_told(one) for one in test.judgements], *_changed(test)]
    norms, person = judged(site, test), person_of(frame.record.content)
    parts = [(name, _part_name(test, name, done)) for name in test.parts]
    more = More(
        interpretation=(*_outcomes(site, test), *sides(norms)),
        note=tuple([Annotation(tidy(one)) for one in told]),
        reference_range=ranges(norms, person),
        component=tuple([_part(site, test, (norms, person), *one) for one in parts]),
        words="".join([f" {one}" for one in told])
        + "".join([f" {_part_words(test, *one)}." for one in parts]),
    )
    code = site.concept("test", _code(test, done), test.title)
    return frame.member(
        test_finding(test.test),
        code, value, more, TEST_CATEGORY[test.test],
    )  # fmt: skip


def test_finding(test: str) -> str:
    """The finding under which the score of a test is told."""
    return finding_id("test", _SHORT.get(test, test))


test_finding.__test__ = False  # type: ignore[attr-defined]  # not a test case


_SHORT = {"five_times_sit_to_stand": "five_sit_to_stand"}
"""Names that would make an id too long."""


def _chair_stand(done: MeasuredTests) -> str:
    """With the arms used the score is another thing than the count of the standard code."""
    used = done.chair_stand_30s is not None and done.chair_stand_30s.arms_used
    return "chair_stand_30s_arms_used" if used else "chair_stand_30s"


def _gait(done: MeasuredTests) -> str:
    """The standard code is for the distance of 4 m alone."""
    walked = done.gait_speed and done.gait_speed.distance_m
    return "gait_speed_4m" if walked == _FOUR_METRES else "gait_speed"


_CODE: dict[str, Callable[[MeasuredTests], str]] = {
    "chair_stand_30s": _chair_stand,
    "gait_speed": _gait,
}


def _code(test: TestScore, done: MeasuredTests) -> str:
    name = _CODE.get(test.test)
    return test.test if name is None else name(done)


def _part_name(test: TestScore, part: str, done: MeasuredTests) -> str:
    if _code(test, done) == "chair_stand_30s_arms_used" and part == "count":
        return "count_with_arms"
    return part


def _part(site: Site, test: TestScore, norms: _Norms, part: str, told_as: str) -> Component:
    return Component(
        code=site.concept("test_part", f"{test.test}.{told_as}", _title(told_as)),
        value_quantity=quantity(test.parts[part], _unit(test, part)),
        interpretation=sides(norms[0], part),
        reference_range=ranges(*norms, part),
    )


def _part_words(test: TestScore, part: str, told_as: str) -> str:
    return f"{_title(told_as)}: {written(test.parts[part])} {shown(_unit(test, part))}"


def _title(part: str) -> str:
    """The words of its code: what is measured, without the unit."""
    return sentence(without_unit(part))


def _unit(test: TestScore, part: str) -> str:
    return unit_of(part) or test.unit


def _outcomes(site: Site, test: TestScore) -> list[CodeableConcept]:
    """What each source says."""
    return [_outcome(site, one) for one in test.judgements if one.outcome]


def _outcome(site: Site, judgement: Judgement) -> CodeableConcept:
    return site.concept("judgement", f"{judgement.rule}.{judgement.outcome}", judgement.text)


def _told(judgement: Judgement) -> str:
    return f"{judgement.text} ({judgement.source}, {judgement.standing.value})"


def _changed(test: TestScore) -> list[str]:
    """The score against the last comparable one, and which published change it reaches."""
    change = test.change
    if change is None:
        return []
    unit = shown(test.unit)
    since = f"{change.since:%Y-%m-%d}"
    told = [
        f"Since {since} ({written(change.earlier_score)} {unit}): {change.difference:+f} {unit}."
    ]
    for one in change.claims:
        reached = f"{one.claim} change" if one.claim else "not reached"
        size = f"{sentence(one.kind)} change of {written(one.size)} {unit}"
        told.append(f"{size}: {reached} ({one.source}, {one.standing.value})")
    return [*told, *([change.note] if change.note else [])]
