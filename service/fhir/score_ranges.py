"""Past which published cut point does a score lie, and within which range is it expected?

A range is that of this person: it says for which sex and ages the source gives it.
"""

from msgspec import Struct

from service.domain.score import Judgement, TestScore
from service.domain.subject import Sex
from service.fhir.codes import HIGH, LOW
from service.fhir.resources import ReferenceRange
from service.fhir.site import Site
from service.fhir.structs import CodeableConcept, Coding, Range
from service.fhir.text import tidy, uncapital
from service.fhir.units import quantity, shown
from service.rules.comparison import written
from service.rules.norm_files import Cut, NormRule
from service.rules.norms import Person, stands_for

_SIDE = {"<": LOW, "<=": LOW, ">": HIGH, ">=": HIGH}
_SEX = "http://hl7.org/fhir/administrative-gender"
_WOMEN = CodeableConcept((Coding(_SEX, "female", "Female"),), "Women")
_MEN = CodeableConcept((Coding(_SEX, "male", "Male"),), "Men")
_WHO = {Sex.FEMALE: _WOMEN, Sex.MALE: _MEN}
_YEARS = "a"


class Judged(Struct, frozen=True):
    """A judgement with its ``rule``, while the rules still have it, and the ``part`` that was
    judged: null where it was the score, or where that part has no value."""

    test: TestScore
    said: Judgement
    rule: NormRule | None
    part: str | None


def judged(site: Site, test: TestScore) -> list[Judged]:
    """Each judgement on a score."""
    norm = site.book.norms.get(test.test)
    rules = {} if norm is None else {f"{test.test}.{rule.id}": rule for rule in norm.rules}
    return [_judged(test, one, rules.get(one.rule)) for one in test.judgements]


def _judged(test: TestScore, said: Judgement, rule: NormRule | None) -> Judged:
    part = rule.part if rule is not None and rule.part in test.parts else None
    return Judged(test, said, rule, part)


def sides(told: list[Judged], part: str | None = None) -> tuple[CodeableConcept, ...]:
    """Low or high where the score, or its ``part``, was found beyond a cut point. Where there is
    no value, or the outcome is that of everybody else, our own words alone say it."""
    found = [_side(one) for one in told if one.part == part]
    return tuple([side for side in (LOW, HIGH) if side in found])


def ranges(
    told: list[Judged], person: Person, part: str | None = None
) -> tuple[ReferenceRange, ...]:
    """Those of the score, or of its ``part``."""
    return tuple([_range(one, person) for one in told if one.part == part and one.said.cut_point])


def _side(one: Judged) -> CodeableConcept | None:
    if one.rule is None or (one.part is None and (one.rule.part or one.test.score is None)):
        return None
    found = [_SIDE[cut.holds] for cut in one.rule.cuts if cut.outcome == one.said.outcome]
    return next(iter(found), None)


def _range(one: Judged, person: Person) -> ReferenceRange:
    """In words; as a number too where one cut point was held against the value and the range
    begins or ends with that very number. FHIR counts the ends in, so "at most 15" has an end and
    "under 12" has none that could be named. A part without a value has no place for a number."""
    points, _, unit = one.said.cut_point.rpartition(" ")
    cuts = _held(one.rule, points, person)
    apart = one.part is None and one.rule is not None and one.rule.part is not None
    only = cuts[0] if len(cuts) == 1 and not apart else None
    who = _WHO.get(cuts[0].sex) if cuts and cuts[0].sex else None
    age = _ages(cuts[0]) if cuts else None
    told = f"Cut point {points} {shown(unit)}{_for_whom(who, age)}"
    return ReferenceRange(
        low=quantity(only.value, unit) if only and only.holds == "<" else None,
        high=quantity(only.value, unit) if only and only.holds == ">" else None,
        applies_to=() if who is None else (who,),
        age=age,
        text=tidy(f"{told} ({one.said.source}, {one.said.standing.value})"),
    )


def _held(rule: NormRule | None, points: str, person: Person) -> list[Cut]:
    """The cuts for this person; none where the rules no longer say what was held against them."""
    cuts = [cut for cut in rule.cuts if stands_for(cut, person)] if rule else []
    return cuts if "; ".join([written(cut.holds, cut.value) for cut in cuts]) == points else []


def _ages(cut: Cut) -> Range | None:
    """In completed years, both ends counted in."""
    low, high = [
        None if end is None else quantity(end, _YEARS) for end in (cut.age_from, cut.age_to)
    ]
    return Range(low, high) if low or high else None


def _for_whom(who: CodeableConcept | None, age: Range | None) -> str:
    if who is None and age is None:
        return ""
    people = uncapital(str(who.text)) if who else "people"
    return f" for {people}{_of_age(age) if age else ''}"


def _of_age(age: Range) -> str:
    low, high = age.low and age.low.value, age.high and age.high.value
    if high is None:
        return f" of {low} years or more"
    return f" of {low} to {high} years" if low is not None else f" of {high} years or less"
