"""Does every closed list of the screen have its codes?"""

from service.domain.stages import Outcome, StandEnd
from service.fhir.own_screen_codes import kebab, screen_systems

SYSTEMS = {one.kind: one for one in screen_systems()}


def test_an_enum_gives_its_kind_and_its_members_in_order() -> None:
    assert kebab(StandEnd) == "stand-end"
    assert tuple(SYSTEMS["outcome"].codes) == tuple(Outcome)


def test_only_a_list_of_words_that_must_be_sent_has_a_code_for_none() -> None:
    assert "none" in SYSTEMS["precaution"].codes
    assert "none" not in SYSTEMS["symptom"].codes
    assert "none" not in SYSTEMS["sign"].codes


def test_an_abbreviation_is_said_in_words() -> None:
    assert SYSTEMS["weight-bearing-order"].codes["NWB"].display == "No weight (NWB)"


def test_a_list_that_stands_in_order_gives_each_code_its_place() -> None:
    ranks = {kind: [code.rank for code in one.codes.values()] for kind, one in SYSTEMS.items()}
    assert ranks["outcome"] == [None, 0, 1, 2]
    assert ranks["floor-injury"] == [0, 1, 2]
    assert ranks["instructions"] == [0, 1, 2]
    assert set(ranks["precaution"]) == {None}
