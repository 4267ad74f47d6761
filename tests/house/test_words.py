"""Is a word found that speaks of anything but the project?"""

import pytest

from tests.house.conftest import Grow
from tests.house.tree import ROOT
from tests.house.words import faults


def test_the_tree_speaks_of_the_project_alone() -> None:
    assert faults(ROOT) == []


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ("--index-url https://PYPI.org/simple", "a package index"),
        ("open('/WORK/main/x')", "a path of one machine"),
        ("closes ISSUE 3", "a ticket"),
        ("left over from the last SESSION", "how the work was organised"),
    ],
)
def test_a_line_that_says_more_is_found(grow: Grow, line: str, what: str) -> None:
    root = grow(
        {
            "docs/a.md": f"First.\n{line.lower()}\n",
            "docs/b.md": "A session of exercise; an issue.\n",
        }
    )
    assert faults(root) == [f"docs/a.md:2: names {what}"]


def test_a_file_that_is_not_text_is_found(grow: Grow) -> None:
    root = grow({"docs/a.md": "fine"})
    (root / "docs" / "a.bin").write_bytes(b"\xff\xfe\x00")
    assert faults(root) == ["docs/a.bin: is not text"]
