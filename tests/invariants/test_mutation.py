"""Is every weakened rule noticed, or is it explained why nothing can notice it?"""

import pytest
from msgspec.structs import replace

from service.rules.load import HERE, freeze
from service.rules.mutate import Mutant, mutants
from service.rules.reading import RuleFiles, read_files
from tests.invariants.mutation import (
    REF,
    Caught,
    answers_differ,
    explained,
    hunt,
    mutated,
    noticed,
    outdated,
    unexplained,
)


@pytest.fixture(scope="module")
def files() -> RuleFiles:
    return read_files(HERE)


def test_no_weakened_rule_goes_unnoticed_and_unexplained(files: RuleFiles) -> None:
    caught = list(hunt(files))
    assert unexplained(caught) == []
    assert outdated(caught) == []


def test_where_it_is_said_that_every_answer_stays_it_is_proved(files: RuleFiles) -> None:
    intact = freeze(files, REF)
    same = {name for each in explained() if each.same_answers for name in each.mutants}
    weakened = [mutant for mutant in mutants(files) if mutant.id in same]
    assert {mutant.id for mutant in weakened} == same
    assert {answers_differ(intact, mutated(intact, each)) for each in weakened} == {None}


def test_an_answer_that_changes_is_told(files: RuleFiles) -> None:
    intact = freeze(files, REF)
    mutant = next(each for each in mutants(files) if each.place == "methods/stand_aid")
    told = answers_differ(intact, mutated(intact, mutant))
    assert told and " | then " in told


def test_a_rule_that_nothing_holds_is_named(files: RuleFiles) -> None:
    """The second of two equal requirements: the first goes on asking it."""
    sling = files.methods["sling_lift"]
    twice = replace(sling, requires=(*sling.requires, sling.requires[0]))
    doubled = replace(files, methods={**files.methods, "sling_lift": twice})
    intact = freeze(doubled, REF)
    once = Mutant("methods/sling_lift", "one of two", files)
    caught = noticed(intact, once)
    assert caught == Caught("methods/sling_lift: one of two", None, "")
    assert unexplained([caught]) == [caught.mutant]
