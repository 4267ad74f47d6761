"""Are our own codes said in words that FHIR takes, each once?"""

from service.domain.citation import Citation, Standing
from service.fhir.own_codes import display, own, system


def test_a_code_without_words_is_said_by_its_own() -> None:
    assert own("left_leg").display == "Left leg"


def test_a_code_carries_what_its_rule_rests_on() -> None:
    code = own("a", "A thing", citation=Citation("house", Standing.DEFAULT), rank=2)
    assert (code.source, code.standing, code.rank) == ("house", "default", 2)


def test_control_characters_do_not_reach_the_words() -> None:
    code = own("a", "one\x00two", definition="three\x1bfour")
    assert "\x00" not in code.display
    assert "\x1b" not in str(code.definition)


def test_of_two_codes_that_are_the_same_the_first_stands() -> None:
    made = system("a_kind", "Kind", "Told", [own("a", "First"), own("a", "Second"), own("b")])
    assert made.kind == "a-kind"
    assert [code.display for code in made.codes.values()] == ["First", "B"]


def test_words_are_found_by_kind_in_either_spelling_and_unknown_ones_are_not() -> None:
    systems = {"a-kind": system("a_kind", "Kind", "Told", [own("a", "First")])}
    assert display(systems, "a_kind", "a") == display(systems, "a-kind", "a") == "First"
    assert display(systems, "a_kind", "z") is None
    assert display(systems, "z", "a") is None
