"""Does the list of files hold what is ours and leave out what tools leave behind?"""

from tests.house.conftest import Grow
from tests.house.tree import ROOT, files, modules, named


def test_caches_and_virtual_environments_are_passed_over(grow: Grow) -> None:
    kept = ["a.md", ".ci/run", "service/x.py", "docs/decisions/0001-a.md"]
    left = [
        ".venv/lib/y.py",
        ".coverage",
        ".coverage.host.1",
        "service/__pycache__/x.pyc",
        "dist/x.whl",
        "st.egg-info/PKG-INFO",
    ]
    root = grow(dict.fromkeys([*kept, *left], ""))
    assert {named(root, path) for path in files(root)} == set(kept)


def test_modules_are_parsed(grow: Grow) -> None:
    root = grow({"service/x.py": '"""What?"""\n', "service/y.toml": ""})
    assert [named(root, path) for path, tree in modules(root, "service") if tree.body] == [
        "service/x.py"
    ]


def test_the_checkers_look_at_this_project() -> None:
    assert {"pyproject.toml", "service/domain/move.py", ".ci/run"} <= {
        named(ROOT, path) for path in files(ROOT)
    }
