"""Is a README found whose commands CI does not run?"""

from tests.house.commands import faults
from tests.house.conftest import Grow
from tests.house.tree import ROOT

SCRIPT = "set -euo pipefail\ndemo='a && b'\ntest='c'\n"


def readme(*blocks: str) -> str:
    return "".join(f"```sh\n{block}\n```\n" for block in blocks) + "## A five-minute tour\n"


def said(grow: Grow, text: str, script: str = SCRIPT, mode: int = 0o755) -> list[str]:
    root = grow({"README.md": text, ".ci/run": script})
    (root / ".ci" / "run").chmod(mode)
    return faults(root)


def test_ci_runs_the_commands_of_the_readme() -> None:
    assert faults(ROOT) == []


def test_the_same_commands_in_both_are_right(grow: Grow) -> None:
    assert said(grow, readme("a && b", "c") + "```sh\ncurl\n```\n") == []


def test_a_command_that_ci_does_not_run_is_found(grow: Grow) -> None:
    assert said(grow, readme("a && b", "d")) == [".ci/run: does not run: d"]


def test_a_third_command_or_no_tour_is_found(grow: Grow) -> None:
    assert said(grow, readme("a && b", "c", "d")) == [
        "README.md: 3 commands stand before the tour, not two"
    ]
    assert said(grow, "```sh\nc\n```\n") == ["README.md: has no heading with the tour"]


def test_a_command_of_two_lines_is_found(grow: Grow) -> None:
    assert "README.md: not one line: a\nb" in said(grow, readme("a\nb", "c"))


def test_a_script_that_goes_on_or_cannot_be_run_is_found(grow: Grow) -> None:
    assert said(grow, readme("a && b", "c"), "demo='a && b'\ntest='c'\n", 0o644) == [
        ".ci/run: cannot be executed",
        ".ci/run: goes on after a failure",
    ]
