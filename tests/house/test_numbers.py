"""Is a cut point found that hides in the code?"""

from tests.house.conftest import Grow
from tests.house.numbers import faults
from tests.house.tree import ROOT


def test_no_cut_point_is_in_the_code() -> None:
    assert faults(ROOT) == []


def test_numbers_however_they_are_written_are_found(grow: Grow) -> None:
    root = grow(
        {
            "service/rules/heavy.py": (
                "heavy = 158\nseconds = Decimal('4.5')\nstep = -3\nplain = (0, 1, -1, 2, 10, 100)\n"
                "tenth = Decimal('0.1')\nword = str('158')\nyes = True\n"
            ),
            "service/domain/elsewhere.py": "longest = 4000\n",
        }
    )
    assert faults(root) == [
        "service/rules/heavy.py:1: 158 belongs in a rule file",
        "service/rules/heavy.py:2: 4.5 belongs in a rule file",
        "service/rules/heavy.py:3: 3 belongs in a rule file",
    ]
