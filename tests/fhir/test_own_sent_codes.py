"""Is every code that names what we send listed, faults too?"""

import ast
import re
from pathlib import Path

from service.fhir.own_sent_codes import sent_systems

SYSTEMS = {one.kind: one for one in sent_systems()}
SERVICE = Path(__file__).parents[2] / "service"
ROOMS = (
    "shape|sense|json|form|bundle|search|validate|source_id|cursor|merge|correction|overrule|lapse"
)
FAULT = re.compile(rf"({ROOMS})\.[a-z_]+")


def faults_in(tree: ast.AST) -> set[str]:
    """The rule words of faults that are written out in a module, and nothing but them."""
    return {
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and FAULT.fullmatch(node.value)
    }


def test_a_fault_that_is_written_out_is_seen() -> None:
    assert faults_in(ast.parse("Fault('/a', 'shape.word', 'Text')")) == {"shape.word"}
    assert faults_in(ast.parse("'shape.word is not it'")) == set()


def test_every_fault_that_the_service_can_tell_is_a_code() -> None:
    told = {
        rule
        for path in SERVICE.rglob("*.py")
        if path.name != "own_sent_codes.py"
        for rule in faults_in(ast.parse(path.read_text(encoding="utf-8")))
    }
    assert "shape.missing" in told
    assert told <= set(SYSTEMS["fault"].codes)


def test_both_flags_and_the_panel_have_their_words() -> None:
    assert SYSTEMS["flag"].display("do_not_move") == "Do not move now"
    assert SYSTEMS["finding"].display("bedside_mobility_screen") == "Bedside mobility screen"
