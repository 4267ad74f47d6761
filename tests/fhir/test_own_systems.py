"""Do the rule book's words stand where a screen names the same thing?"""

from service.domain.move import Move
from service.domain.stages import Stage
from service.fhir.own_systems import own_systems
from tests.fhir.answers import BOOK

SYSTEMS = own_systems(BOOK)


def test_moves_and_stages_are_said_as_the_rule_book_says_them() -> None:
    for move in Move:
        assert SYSTEMS["move"].display(move.value) == BOOK.moves[move].title
    for stage in Stage:
        assert SYSTEMS["stage"].display(stage.value) == BOOK.stages[stage.value].title


def test_every_system_is_told_and_none_is_empty() -> None:
    for kind, one in SYSTEMS.items():
        assert one.kind == kind
        assert one.title and one.description and one.codes
