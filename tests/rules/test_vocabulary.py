"""Do the rule files, the closed words and the code name the same things?"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from msgspec.structs import replace

from service.domain.context import Setting
from service.domain.screen import Screen
from service.rules.book import RuleBook
from service.rules.files import Parameter
from service.rules.load import HERE, load_book
from service.rules.norms import score_tests
from service.rules.plan import PlanIds, build_plan
from service.rules.profile import profile_of
from service.rules.reading import read_files
from service.rules.vocabulary import READ_IN_CODE, word_faults
from tests.rules.rule_files import copied, instead, write
from tests.rules.screens import orders, readiness, screen
from tests.strategies import screens

BOOK = load_book()
IDS = PlanIds("plan", "screen", 1)


class Watched(dict[str, Parameter]):
    """Parameters that remember who was asked for."""

    def __init__(self, parameters: dict[str, Parameter]) -> None:
        super().__init__(parameters)
        self.read: set[str] = set()

    def __getitem__(self, name: str) -> Parameter:
        self.read.add(name)
        return super().__getitem__(name)


def watched() -> tuple[RuleBook, Watched]:
    parameters = Watched(BOOK.parameters)
    return replace(BOOK, parameters=parameters), parameters


def answered(book: RuleBook, content: Screen) -> Any:
    tests = score_tests(book, content)
    return build_plan(book, content, profile_of(book, content, tests), IDS)


def test_the_files_that_come_with_the_service_agree_with_the_words() -> None:
    assert list(word_faults(read_files(HERE))) == []


@settings(max_examples=100)
@given(screens())
def test_no_module_reads_a_parameter_that_the_loader_does_not_ask_for(drawn: Screen) -> None:
    book, parameters = watched()
    answered(book, drawn)
    named = {"helper_lift_limit_kg", "limb_two_hand_kg"}  # by rule files as well
    assert parameters.read - named <= set(READ_IN_CODE)


def test_the_validity_of_every_setting_is_asked_for() -> None:
    for setting in Setting:
        for content in (screen(setting=setting), replace(readiness(rass=3), setting=setting)):
            book, parameters = watched()
            answered(book, content)
            (hours,) = (name for name in parameters.read if name.endswith("_h"))
            assert hours in READ_IN_CODE and hours.startswith(setting)


def test_what_the_loader_asks_for_is_there() -> None:
    assert set(READ_IN_CODE) <= set(BOOK.parameters)
    assert len(READ_IN_CODE) == len(set(READ_IN_CODE))


def faults(root: Path) -> Iterator[str]:
    return word_faults(read_files(root))


def test_a_number_without_plain_words_is_named(tmp_path: Path) -> None:
    root = copied(tmp_path)
    write(root, "plan.toml", instead("leg_mass_kg = ", "# leg_mass_kg = "))
    assert list(faults(root)) == ["plan.toml numbers: `leg_mass_kg` needs plain words"]


def test_a_field_without_its_question_is_named_and_so_is_a_question_too_many(
    tmp_path: Path,
) -> None:
    root = copied(tmp_path)
    write(root, "plan.toml", instead("gets_up_alone = ", "gets_up_early = "))
    said = "needs a question, and nothing else does"
    assert list(faults(root)) == [
        f"plan.toml asks: `gets_up_alone` {said}",
        f"plan.toml asks: `gets_up_early` {said}",
    ]


def test_the_answer_needs_no_parameter_by_chance() -> None:
    """The screens that touch the orders and the sedation read no other name either."""
    for content in (orders(), readiness(anaesthetised=True), readiness(rass=None)):
        book, parameters = watched()
        assert answered(book, content) == answered(BOOK, content)
        assert parameters.read
