"""Is a way in found that nothing stands against, or whose proof is not there?"""

from tests.house.conftest import Grow
from tests.house.defences import faults
from tests.house.tree import ROOT

HELD = "`tests/a/test_b.py::test_held`"
TESTS = "async def test_held() -> None: ...\n"
ROWS = "| control | shown by |\n|---|---|\n" + f"| A lock | {HELD} |\n" * 3
OPEN = "## What is open\n\n- Much.\n"


def page(*numbers: int, rows: str = ROWS) -> str:
    return "".join(f"## API{number}: a way in\n\n{rows}\n" for number in numbers) + OPEN


def test_every_way_in_is_defended_and_every_defence_is_shown() -> None:
    assert faults(ROOT) == []


def test_ten_ways_with_shown_controls_have_no_fault(grow: Grow) -> None:
    root = grow(
        {
            "docs/README.md": "(security.md)",
            "docs/security.md": page(*range(1, 11)),
            "tests/a/test_b.py": TESTS,
        }
    )
    assert faults(root) == []


def test_ways_without_control_proof_or_place_are_found(grow: Grow) -> None:
    rows = f"| a | b |\n|---|---|\n| | {HELD} |\n| A lock | trust |\n"
    rows += "| Another | `tests/a/test_b.py::test_gone` |\n"
    root = grow(
        {
            "docs/README.md": "",
            "docs/security.md": page(1, 2, 3, 4, 5, 6, 7, 9) + page(10, rows=rows)[: -len(OPEN)],
            "tests/a/test_b.py": TESTS,
        }
    )
    assert faults(root) == [
        "security.md: is not in docs/README.md",
        "security.md: speaks of [1, 2, 3, 4, 5, 6, 7, 9, 10], not of 1 to 10 in order",
        f"API10: a row is not a control and its test: | | {HELD} |",
        "API10: a control that no test shows: A lock",
        "security.md: the test tests/a/test_b.py::test_gone is not there",
    ]


def test_a_page_that_says_nothing_is_found(grow: Grow) -> None:
    root = grow({"docs/README.md": "(security.md)", "docs/security.md": "# Security\n"})
    assert faults(root) == [
        "security.md: speaks of [], not of 1 to 10 in order",
        "security.md: does not say what is open",
    ]
