"""How do the optional tests score against their published norms?"""

from fractions import Fraction

from msgspec import Struct

from service.domain.age import age_at
from service.domain.score import Judgement, TestScore
from service.domain.screen import Screen
from service.domain.subject import Sex
from service.rules.book import RuleBook
from service.rules.comparison import holds, written
from service.rules.measures import MEASURES, Measure
from service.rules.norm_files import Cut, NormFile, NormRule

NOT_MEASURED = "Nothing was measured, so nothing is judged."
NOT_DONE = "Not done or not achieved: there is no value, and that never counts as able."


class Person(Struct, frozen=True):
    """What a norm may depend on."""

    age: int
    sex: Sex | None


def person_of(screen: Screen) -> Person:
    return Person(age_at(screen.patient, screen.observed_at), screen.patient.sex)


def score_tests(book: RuleBook, screen: Screen) -> tuple[TestScore, ...]:
    """One score for each test that was done, in the order of the screen's fields."""
    person = person_of(screen)
    scores = []
    for test, measure in MEASURES.items():
        result = getattr(screen.tests, test)
        if result is not None:
            norm = book.norms[test]
            scores.append(_score(test, norm, measure(norm, result), person))
    return tuple(scores)


def _score(test: str, norm: NormFile, measure: Measure, person: Person) -> TestScore:
    judged = tuple(_judge(test, norm, rule, measure, person) for rule in norm.rules)
    return TestScore(test, norm.title, measure.score, norm.unit, judged, measure.parts)


def _judge(
    test: str, norm: NormFile, rule: NormRule, measure: Measure, person: Person
) -> Judgement:
    cuts = [cut for cut in rule.cuts if stands_for(cut, person)]
    outcome, note = _outcome(rule, cuts, measure)
    points = "; ".join(written(cut.holds, cut.value) for cut in cuts)
    return Judgement(
        rule=f"{test}.{rule.id}",
        cut_point=f"{points} {rule.unit or norm.unit}" if points else "",
        outcome=outcome,
        text=str(note) if outcome is None else rule.outcomes[outcome],
        source=rule.source,
        standing=rule.standing,
        note=note,
    )


def _outcome(rule: NormRule, cuts: list[Cut], measure: Measure) -> tuple[str | None, str | None]:
    if not cuts:
        return None, rule.no_norm
    value = _judged_value(rule, measure)
    if value is not None:
        found = (cut.outcome for cut in cuts if holds(value, cut.holds, cut.value))
        return next(found, rule.otherwise), None
    if rule.unable is None or not _anything_done(rule, measure):
        return None, NOT_MEASURED
    return rule.unable, NOT_DONE


def _judged_value(rule: NormRule, measure: Measure) -> Fraction | None:
    if rule.part is None:
        return measure.exact
    part = measure.parts.get(rule.part)
    return None if part is None else Fraction(part)


def _anything_done(rule: NormRule, measure: Measure) -> bool:
    """A test with parts was begun when one of them is known; one without was, being sent."""
    return rule.part is None or bool(measure.parts)


def stands_for(cut: Cut, person: Person) -> bool:
    """Whether the source gives the cut for this person."""
    if cut.sex is not None and cut.sex is not person.sex:
        return False
    if cut.age_from is not None and person.age < cut.age_from:
        return False
    return cut.age_to is None or person.age <= cut.age_to
