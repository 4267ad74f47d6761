"""Does the rule book say everything in words that a tired person understands?"""

import re
from collections.abc import Iterator

import pytest

from service.domain.axis import GRADES, Axis
from service.domain.condition import Condition
from service.domain.stages import Stage
from service.rules.book import Method, RuleBook
from service.rules.load import load_book

# Automated readability index: about the US school grade that reads the text with ease; grade 7
# is age 12 to 13. The index swings on a single short text, so the whole is held well below
# and one text a little above. A sentence stays short enough to be read out in one breath.
WHOLE_TEXT_AT_MOST = 4.0
ONE_TEXT_AT_MOST = 12.0
WORDS_IN_A_SENTENCE_AT_MOST = 24


@pytest.fixture(scope="module")
def book() -> RuleBook:
    return load_book()


def texts_of(method: Method, part: str) -> list[str]:
    return [each.text for each in getattr(method, part)]


def every_text_of(method: Method) -> list[str]:
    return [
        method.plain,
        *texts_of(method, "steps"),
        *texts_of(method, "cautions"),
        *texts_of(method, "stop_signs"),
        *(each.why for each in method.accessories),
    ]


def sentences(text: str) -> list[str]:
    return [part for part in re.split(r"[.!?:;]\s+|[.!?:;]$", text) if part.strip()]


def reading_grade(texts: list[str]) -> float:
    """Automated readability index over all sentences of ``texts``."""
    parts = [part for text in texts for part in sentences(text)]
    words = [word for part in parts for word in re.findall(r"[\w'/-]+", part)]
    letters = sum(len(re.findall(r"\w", word)) for word in words)
    return 4.71 * letters / len(words) + 0.5 * len(words) / len(parts) - 21.43


def words_of_conditions(book: RuleBook) -> Iterator[str]:
    for file in book.conditions.values():
        yield from (text for text in (file.caution, file.confirm) if text)


def words_of_the_whole(book: RuleBook) -> list[str]:
    return [
        *(said.text for said in (*book.notices, *book.rescreen)),
        *(goal.text for goal in book.goals),
        *(exercise.text for exercise in book.exercises),
    ]


def test_every_axis_and_each_of_its_grades_has_words(book: RuleBook) -> None:
    assert set(book.axes) == set(Axis)
    for axis, file in book.axes.items():
        assert tuple(file.grades) == GRADES[axis]
        assert len(set(file.grades.values())) == len(file.grades), axis


def test_every_condition_and_stage_has_a_title_of_its_own(book: RuleBook) -> None:
    assert set(book.conditions) == set(Condition)
    assert set(book.stages) == set(Stage)
    titles = [file.title for file in book.conditions.values()]
    titles += [file.title for file in book.stages.values()]
    assert len(set(titles)) == len(titles)


def test_every_device_class_and_accessory_that_is_used_has_words(book: RuleBook) -> None:
    used = {method.device_class for method in book.methods.values()} - {None}
    assert used <= set(book.device_classes)
    accessories = {a.accessory for method in book.methods.values() for a in method.accessories}
    assert accessories == set(book.accessories)


def test_every_source_that_is_cited_exists_and_says_how_it_was_seen(book: RuleBook) -> None:
    cited = {file.source for file in book.axes.values()}
    cited |= {file.source for file in book.conditions.values()}
    cited |= {file.source for file in book.device_classes.values()}
    cited |= {file.source for file in book.accessories.values()}
    cited |= {parameter.source for parameter in book.parameters.values()}
    cited |= {said.citation.source for said in (*book.notices, *book.rescreen)}
    cited |= {goal.citation.source for goal in book.goals}
    cited |= {exercise.citation.source for exercise in book.exercises}
    for method in book.methods.values():
        cited |= {step.citation.source for step in method.steps}
        cited |= {accessory.citation.source for accessory in method.accessories}
        cited |= {said.citation.source for said in (*method.cautions, *method.stop_signs)}
    assert cited <= set(book.sources)
    assert all(book.sources[name].seen for name in cited)


def test_a_practice_or_a_default_never_borrows_the_name_of_a_document(book: RuleBook) -> None:
    for source in ("common_practice", "hospital_default"):
        assert book.sources[source].seen == "none"
        assert book.sources[source].year is None


@pytest.mark.parametrize("name", sorted(load_book().methods))
def test_a_method_reads_at_an_age_of_about_twelve(book: RuleBook, name: str) -> None:
    assert reading_grade(every_text_of(book.methods[name])) <= WHOLE_TEXT_AT_MOST


def test_conditions_goals_and_notices_read_at_an_age_of_about_twelve(book: RuleBook) -> None:
    assert reading_grade(list(words_of_conditions(book))) <= WHOLE_TEXT_AT_MOST
    assert reading_grade(words_of_the_whole(book)) <= WHOLE_TEXT_AT_MOST


def test_no_single_text_is_hard_to_read(book: RuleBook) -> None:
    texts = [text for method in book.methods.values() for text in every_text_of(method)]
    texts += [*words_of_conditions(book), *words_of_the_whole(book)]
    assert [text for text in texts if reading_grade([text]) > ONE_TEXT_AT_MOST] == []


def test_a_hard_text_is_told_from_an_easy_one() -> None:
    hard = [
        "Contraindications necessitate multidisciplinary reassessment of ambulatory capability."
    ]
    assert reading_grade(hard) > 20
    assert reading_grade(["Lock the bed. Sit down."]) < 3


def test_no_sentence_is_too_long_to_be_read_out(book: RuleBook) -> None:
    texts = [text for method in book.methods.values() for text in every_text_of(method)]
    texts += [*words_of_conditions(book), *words_of_the_whole(book)]
    long = [
        part
        for text in texts
        for part in sentences(text)
        if len(part.split()) > WORDS_IN_A_SENTENCE_AT_MOST
    ]
    assert long == []
