"""Are sources cited as they stand in the rule book, each once?"""

from service.domain.citation import Citation, Standing
from service.domain.move import Move
from service.fhir.definitions.sources import cited, method_citations, move_citations
from tests.fhir.answers import BOOK

OSHA = Citation("osha_3182", Standing.PUBLISHED)
PRACTICE = Citation("common_practice", Standing.PRACTICE)


def test_a_source_is_told_with_who_made_it_and_when() -> None:
    (one,) = cited(BOOK, [OSHA])
    source = BOOK.sources["osha_3182"]
    assert one.label == "osha_3182"
    for part in (source.body, source.title, source.edition, str(source.year)):
        assert str(part) in one.citation


def test_a_source_that_is_cited_twice_is_told_once_in_its_first_place() -> None:
    assert [one.label for one in cited(BOOK, [PRACTICE, OSHA, PRACTICE])] == [
        "common_practice",
        "osha_3182",
    ]


def test_everything_that_is_ruled_about_a_method_is_cited() -> None:
    method = BOOK.methods["slide_sheet"]
    told = list(method_citations(method))
    for rule in (*method.requires, *method.more_helpers, *method.stop_signs):
        assert rule.citation in told
    assert method.helpers_citation in told


def test_what_a_move_asks_of_its_methods_is_cited_too() -> None:
    move = BOOK.moves[Move.WALK]
    told = list(move_citations(move))
    for option in move.options:
        for rule in option.requires:
            assert rule.citation in told
