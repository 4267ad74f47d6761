"""Is a decision found that was lost, deleted or left without a reason?"""

from tests.house.conftest import Grow
from tests.house.decisions import faults
from tests.house.tree import ROOT

GOOD = "# A\n\nStanding: accepted\n\n## Why\n\n## What follows\n"


def test_every_decision_is_on_record() -> None:
    assert faults(ROOT) == []


def test_gaps_missing_parts_and_dead_ends_are_found(grow: Grow) -> None:
    root = grow(
        {
            "docs/README.md": "0001-a.md 0003-b.md",
            "docs/decisions/0001-a.md": GOOD,
            "docs/decisions/0003-b.md": GOOD.replace("accepted", "superseded by 0009"),
            "docs/decisions/0003-c.md": "# C\n\n## Why\n",
        }
    )
    assert faults(root) == [
        "0003-c.md: is not in docs/README.md",
        "0003-b.md: is not number 0002, so one was deleted or doubled",
        "0003-b.md: is superseded by a decision that is not there",
        "0003-c.md: does not say its standing",
        "0003-c.md: has no part `## What follows`",
    ]
