"""Does every line of the README's tour run as it stands, and show what it says?"""

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.house.commands import BLOCK, TOUR
from tests.house.tree import ROOT
from tests.samples.demo_process import demo

MARK = "\x1e"
SHOWS = re.compile(r"   # → (?P<shown>.+)$")


def tour() -> list[str]:
    """Each line of the fenced commands after the heading of the tour."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    heading = TOUR.search(readme)
    assert heading, "README.md has no heading with the tour"
    blocks = BLOCK.finditer(readme[heading.end() :])
    return [line for block in blocks for line in block["body"].splitlines()]


def run(lines: list[str], pasted: list[str]) -> tuple[list[str], str]:
    """What each line printed, up to the first that failed, and what went to standard error."""
    assert shutil.which("curl"), "The tour needs curl, which is not on this machine."
    told = [f"{line}\nprintf '{MARK}'" for line in lines]
    script = "\n".join(["set -euo pipefail", *pasted, *told])
    ran = subprocess.run(
        ["bash", "-c", script],
        cwd=ROOT,
        env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    return ran.stdout.split(MARK)[:-1], ran.stderr


def test_every_line_of_the_tour_runs_and_shows_what_it_says() -> None:
    lines = tour()
    with demo(ROOT) as running:
        printed, said = run(lines, running.pasted)
    failed = "" if len(printed) == len(lines) else lines[len(printed)]
    assert not failed, f"{failed}\n{said}"
    for line, shown in zip(lines, printed, strict=True):
        claim = SHOWS.search(line)
        if claim:
            assert claim["shown"] in shown, line


def test_the_tour_says_what_its_reader_will_see() -> None:
    claims = [line for line in tour() if SHOWS.search(line)]

    assert len(claims) >= 10


def test_a_line_that_fails_ends_the_run_there(tmp_path: Path) -> None:
    printed, said = run(["echo one", f"cat {tmp_path}/nothing", "echo three"], [])

    assert printed == ["one\n"]
    assert "nothing" in said


@pytest.mark.parametrize("line", ["false | cat", "echo $NOT_SET"])
def test_a_failure_inside_a_line_counts(line: str) -> None:
    assert run([line], [])[0] == []
