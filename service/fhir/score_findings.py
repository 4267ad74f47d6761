"""How do the scored tests become Observations with interpretation and cut points?"""

from collections.abc import Callable
from decimal import Decimal

from service.domain.measured_tests import MeasuredTests
from service.domain.score import Judgement, TestScore
from service.fhir.codes import HIGH, LOW, NO_SCORE, TEST_CATEGORY
from service.fhir.observation import Frame, More, finding_id, measured, missing
from service.fhir.resources import Component, Observation, ReferenceRange
from service.fhir.site import Site
from service.fhir.structs import Annotation, CodeableConcept
from service.fhir.text import sentence, tidy
from service.fhir.units import quantity, shown, unit_of, written
from service.rules.comparison import written as sign_and_value
from service.rules.norm_files import Cut

_FOUR_METRES = Decimal(4)


def score_findings(frame: Frame, tests: tuple[TestScore, ...]) -> list[Observation]:
    """One Observation a test."""
    return [_finding(frame, test) for test in tests]


def _finding(frame: Frame, test: TestScore) -> Observation:
    site = frame.site
    done = frame.record.content.tests
    value = missing(NO_SCORE)
    if test.score is not None:
        value = measured(quantity(test.score, test.unit))
    told = [*[_told(one) for one in test.judgements], *_changed(test)]
    parts = [(_part_name(test, name, done), size) for name, size in test.parts.items()]
    more = More(
        interpretation=_interpretation(site, test),
        note=tuple([Annotation(tidy(one)) for one in told]),
        reference_range=tuple(
            [_range(site, test, one) for one in test.judgements if one.cut_point]
        ),
        component=tuple([_part(site, test, name, size) for name, size in parts]),
        words="".join([f" {one}" for one in told])
        + "".join([f" {_part_words(test, name, size)}." for name, size in parts]),
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


def _unit(test: TestScore, part: str) -> str:
    return unit_of(part) or test.unit


def _part(site: Site, test: TestScore, part: str, size: Decimal) -> Component:
    return Component(
        code=site.concept("test_part", f"{test.test}.{part}", sentence(part)),
        value_quantity=quantity(size, _unit(test, part)),
    )


def _part_words(test: TestScore, part: str, size: Decimal) -> str:
    return f"{sentence(part)}: {written(size)} {shown(_unit(test, part))}"


def _interpretation(site: Site, test: TestScore) -> tuple[CodeableConcept, ...]:
    """What each source says, and beside it whether the score lies past a cut point of any."""
    own = [_outcome(site, one) for one in test.judgements if one.outcome]
    past = dict.fromkeys([_past(site, test, one) for one in test.judgements if one.outcome])
    return (*own, *[one for one in past if one is not None])


def _past(site: Site, test: TestScore, judgement: Judgement) -> CodeableConcept | None:
    """Low or high where the score itself was found beyond a cut point; a rule that judges a part
    of the test, or says how well somebody did, is told in our own words alone."""
    if test.score is None:
        return None
    for cut in _cuts(site, test, judgement):
        if cut.outcome == judgement.outcome:
            return _SIDE.get(cut.holds)
    return None


def _cuts(site: Site, test: TestScore, judgement: Judgement) -> tuple[Cut, ...]:
    """Those of the rule that judged, where it judged the score itself."""
    norm = site.book.norms.get(test.test)
    rule_id = judgement.rule.partition(".")[2]
    rules = () if norm is None else norm.rules
    return next((one.cuts for one in rules if one.id == rule_id and one.part is None), ())


_SIDE = {"<": LOW, "<=": LOW, ">": HIGH, ">=": HIGH}


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


def _range(site: Site, test: TestScore, judgement: Judgement) -> ReferenceRange:
    """In words; as a number too where one cut point was held against the score and the range
    begins or ends with that very value. FHIR counts the ends in, so "at most 15" has an end and
    "under 12" has none that could be named."""
    text = f"Cut point {judgement.cut_point} ({judgement.source}, {judgement.standing.value})"
    ends = {
        (cut.holds, cut.value)
        for cut in _cuts(site, test, judgement)
        if f"{sign_and_value(cut.holds, cut.value)} {test.unit}" == judgement.cut_point
    }
    past, end = ends.pop() if len(ends) == 1 else ("", Decimal(0))
    return ReferenceRange(
        low=quantity(end, test.unit) if past == "<" else None,
        high=quantity(end, test.unit) if past == ">" else None,
        text=tidy(text),
    )
