"""Is a hazard found that nothing stands against, or whose proof is not there?"""

from tests.house.conftest import Grow
from tests.house.hazards import faults
from tests.house.tree import ROOT

HELD = "`tests/a/test_b.py::test_held`"
TESTS = "async def test_held() -> None: ...\ndef held() -> None: ...\n# def test_said() -> None\n"


def test_every_hazard_is_controlled_and_shown_or_said_to_be_open() -> None:
    assert faults(ROOT) == []


def test_a_file_with_a_shown_and_an_open_hazard_has_no_fault(grow: Grow) -> None:
    root = grow(
        {
            "docs/README.md": "[hazards](hazards.md)",
            "docs/hazards.md": f"| 1 | A | a | b | {HELD} | |\n| 2 | B | b | open | | Backups. |\n",
            "tests/a/test_b.py": TESTS,
        }
    )
    assert faults(root) == []


def test_hazards_without_control_proof_or_place_are_found(grow: Grow) -> None:
    rows = (
        "| 1 | A | a | | | c |",
        "| 2 | B | b | open | | |",
        "| 3 | C | c | a lock | | |",
        f"| 5 | D | | a lock | {HELD} | |",
        f"| 5 | E | e | a lock | {HELD} |",
        "| 6 | F | f | a lock | `tests/a/test_b.py::held` | |",
        "| 7 | G | g | a lock | `tests/a/test_b.py::test_said`<br>`tests/c.py::test_held` | |",
    )
    root = grow(
        {
            "docs/README.md": "",
            "docs/hazards.md": "\n".join(rows),
            "tests/a/test_b.py": TESTS,
        }
    )
    assert faults(root) == [
        "hazards.md: is not in docs/README.md",
        "hazard 1: has neither a control nor the word open",
        "hazard 2: is open and does not say what is missing",
        "hazard 3: has a control that no test shows",
        "hazard 4: is numbered 5, so one was deleted or doubled",
        "hazard 4: does not say what happens and how",
        "hazard 5: has 5 columns, not 6",
        "hazards.md: the test tests/a/test_b.py::held is not there",
        "hazards.md: the test tests/a/test_b.py::test_said is not there",
        "hazards.md: the test tests/c.py::test_held is not there",
    ]


def test_a_file_without_any_hazard_is_found(grow: Grow) -> None:
    root = grow({"docs/README.md": "(hazards.md)", "docs/hazards.md": "# Hazards\n"})
    assert faults(root) == ["hazards.md: has no hazard"]
