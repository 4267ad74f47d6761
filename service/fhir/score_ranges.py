"""Past which published cut point does a score lie, and within which range is it expected?

A range is that of this person: it says for which sex and ages the source gives it.
"""

from service.domain.age import age_at
from service.domain.score import Judgement, TestScore
from service.domain.screen import Screen
from service.domain.subject import Sex
from service.fhir.codes import HIGH, LOW
from service.fhir.resources import ReferenceRange
from service.fhir.site import Site
from service.fhir.structs import CodeableConcept, Coding, Range
from service.fhir.text import tidy, uncapital
from service.fhir.units import quantity, shown
from service.rules.comparison import written
from service.rules.norm_files import Cut, NormRule
from service.rules.norms import Person

_SIDE = {"<": LOW, "<=": LOW, ">": HIGH, ">=": HIGH}
_SEX = "http://hl7.org/fhir/administrative-gender"
_WOMEN = CodeableConcept((Coding(_SEX, "female", "Female"),), "Women")
_MEN = CodeableConcept((Coding(_SEX, "male", "Male"),), "Men")
_WHO = {Sex.FEMALE: _WOMEN, Sex.MALE: _MEN}
_YEARS = "a"


def person_of(screen: Screen) -> Person:
    return Person(age_at(screen.patient, screen.observed_at), screen.patient.sex)


def sides(site: Site, test: TestScore, part: str | None = None) -> tuple[CodeableConcept, ...]:
    """Low or high where the score, or its ``part``, was found beyond a cut point. Where there is
    no value, or the outcome is that of everybody else, our own words alone say it."""
    told = [one for one in test.judgements if one.outcome and _part(site, test, one) == part]
    found = dict.fromkeys([_side(site, test, one) for one in told])
    return tuple([one for one in found if one is not None])


def ranges(
    site: Site, test: TestScore, person: Person, part: str | None = None
) -> tuple[ReferenceRange, ...]:
    """Those of the score, or of its ``part``."""
    told = [one for one in test.judgements if one.cut_point and _part(site, test, one) == part]
    return tuple([_range(site, test, one, person) for one in told])


def _part(site: Site, test: TestScore, judgement: Judgement) -> str | None:
    """The part that was judged; None where it was the score, or that part has no value."""
    rule = _rule(site, test, judgement)
    return rule.part if rule is not None and rule.part in test.parts else None


def _side(site: Site, test: TestScore, judgement: Judgement) -> CodeableConcept | None:
    rule = _rule(site, test, judgement)
    if rule is None or (test.score if rule.part is None else test.parts.get(rule.part)) is None:
        return None
    found = [_SIDE[cut.holds] for cut in rule.cuts if cut.outcome == judgement.outcome]
    return next(iter(found), None)


def _range(site: Site, test: TestScore, judgement: Judgement, person: Person) -> ReferenceRange:
    """In words; as a number too where one cut point was held against the value and the range
    begins or ends with that very number. FHIR counts the ends in, so "at most 15" has an end and
    "under 12" has none that could be named. A part without a value has no place for a number."""
    points, _, unit = judgement.cut_point.rpartition(" ")
    rule = _rule(site, test, judgement)
    cuts = _held(rule, points, person)
    apart = rule is not None and rule.part is not None and rule.part not in test.parts
    only = cuts[0] if len(cuts) == 1 and not apart else None
    who = _WHO.get(cuts[0].sex) if cuts and cuts[0].sex else None
    age = _ages(cuts[0]) if cuts else None
    told = f"Cut point {points} {shown(unit)}{_for_whom(who, age)}"
    return ReferenceRange(
        low=quantity(only.value, unit) if only and only.holds == "<" else None,
        high=quantity(only.value, unit) if only and only.holds == ">" else None,
        applies_to=() if who is None else (who,),
        age=age,
        text=tidy(f"{told} ({judgement.source}, {judgement.standing.value})"),
    )


def _rule(site: Site, test: TestScore, judgement: Judgement) -> NormRule | None:
    """The one that judged, while the rules still have it."""
    norm = site.book.norms.get(test.test)
    rule_id = judgement.rule.partition(".")[2]
    return next((one for one in norm.rules if one.id == rule_id), None) if norm else None


def _held(rule: NormRule | None, points: str, person: Person) -> list[Cut]:
    """The cuts for this person; none where the rules no longer say what was held against them."""
    cuts = [cut for cut in rule.cuts if _stands_for(cut, person)] if rule else []
    return cuts if "; ".join([written(cut.holds, cut.value) for cut in cuts]) == points else []


def _stands_for(cut: Cut, person: Person) -> bool:
    begin, end = cut.age_from or 0, person.age if cut.age_to is None else cut.age_to
    return cut.sex in (None, person.sex) and begin <= person.age <= end


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
