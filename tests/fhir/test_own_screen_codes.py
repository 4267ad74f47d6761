"""Does every closed list of the screen have its codes, and every fault?"""

import ast
from pathlib import Path

from service.domain.stages import Outcome, StandEnd
from service.fhir.own_screen_codes import kebab, screen_systems

SYSTEMS = {one.kind: one for one in screen_systems()}
SERVICE = Path(__file__).parents[2] / "service"


def test_an_enum_gives_its_kind_and_its_members_in_order() -> None:
    assert kebab(StandEnd) == "stand-end"
    assert tuple(SYSTEMS["outcome"].codes) == tuple(Outcome)


def test_only_a_list_of_words_that_must_be_sent_has_a_code_for_none() -> None:
    assert "none" in SYSTEMS["precaution"].codes
    assert "none" not in SYSTEMS["symptom"].codes
    assert "none" not in SYSTEMS["sign"].codes


def test_an_abbreviation_is_said_in_words() -> None:
    assert SYSTEMS["weight-bearing-order"].codes["NWB"].display == "No weight (NWB)"


def faults_in(tree: ast.AST) -> set[str]:
    """The rule words of faults that are written out in a module."""
    return {
        node.args[1].value
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "Fault"
        and len(node.args) > 1
        and isinstance(node.args[1], ast.Constant)
        and isinstance(node.args[1].value, str)
    }


def test_a_fault_that_is_written_out_is_seen() -> None:
    assert faults_in(ast.parse("Fault('/a', 'room.word', 'Text')")) == {"room.word"}


def test_every_fault_that_the_service_can_tell_is_a_code() -> None:
    told = {
        rule
        for path in SERVICE.rglob("*.py")
        for rule in faults_in(ast.parse(path.read_text(encoding="utf-8")))
    }
    assert "shape.missing" in told
    assert told <= set(SYSTEMS["fault"].codes)
