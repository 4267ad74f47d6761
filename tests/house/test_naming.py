"""Is a file with an empty name, in the wrong place or without its question found?"""

from tests.house.conftest import Grow
from tests.house.naming import TOP, faults
from tests.house.tree import ROOT


def test_every_file_says_what_it_is_for() -> None:
    assert faults(ROOT) == []


def test_strangers_empty_names_and_unasked_modules_are_found(grow: Grow) -> None:
    tops = {name: "" for name in TOP if "." in name or name == "LICENSE"}
    folders = {f"{name}/x.md": "" for name in TOP - set(tops)}
    root = grow(
        {
            **tops,
            **folders,
            "Makefile": "",
            ".gitignore": "",
            "service/helpers.py": '"""What is here?"""\n',
            "service/helper_count.py": '"""How many people help?"""\n',
            "service/utils.py": '"""What is here?"""\n',
            "service/key_manager.py": '"""Who keeps keys? This does."""\n',
            "service/silent.py": "",
            "tests/told.py": '"""Tells."""\n',
        }
    )
    (root / "LICENSE").unlink()
    assert faults(root) == [
        "Makefile: does not belong at the top",
        "LICENSE: is missing at the top",
        "service/helpers.py: the name does not say what is in it",
        "service/key_manager.py: the name does not say what is in it",
        "service/utils.py: the name does not say what is in it",
        "service/silent.py: its first line does not say which question it answers",
        "tests/told.py: its first line does not say which question it answers",
    ]
