"""Is a module, function or folder that outgrew its room found?"""

from tests.house.conftest import Grow
from tests.house.size import faults
from tests.house.tree import ROOT


def test_this_house_is_built_of_small_rooms() -> None:
    assert faults(ROOT) == []


def test_long_modules_functions_and_deep_folders_are_found(grow: Grow) -> None:
    root = grow(
        {
            "service/web/long.py": "x = 1\n" * 251,
            "service/web/wide.py": "async def f():\n" + "    x = 1\n" * 40,
            "service/a/b/c/deep.toml": "",
            "tests/web/fits.py": "def f():\n" + "    x = 1\n" * 39 + "x = 1\n" * 210,
            "service/storage/versions/v0001.py": "x = 1\n" * 500,
        }
    )
    assert faults(root) == [
        "service/web/long.py: 251 lines, 250 fit",
        "service/web/wide.py:1: f has 41 lines, 40 fit",
        "service/a/b/c/deep.toml: 3 folders below service/, 2 are allowed",
    ]
