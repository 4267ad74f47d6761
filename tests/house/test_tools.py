"""Do the linter, the layout, the types, the floors and the container lint find nothing?"""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.conftest import Grow
from tests.house.tree import ROOT

BIN = Path(sys.executable).parent


def run(command: str, folder: Path = ROOT) -> tuple[int, str]:
    """Exit code and everything that was printed by a tool of this environment."""
    name, *arguments = command.split()
    done = subprocess.run(
        [BIN / name, *arguments], cwd=folder, capture_output=True, text=True, check=False
    )
    return done.returncode, done.stdout + done.stderr


@pytest.mark.parametrize(
    "command",
    [
        "ruff check",
        "ruff format --check",
        "mypy",
        "lint-imports",
        "hadolint docker/Dockerfile",
        "hadolint docker/ha/Dockerfile",
    ],
)
def test_a_tool_finds_nothing(command: str) -> None:
    code, said = run(command)
    assert code == 0, said


def test_the_linter_can_fail(grow: Grow) -> None:
    root = grow({"x.py": "import os\n", "pyproject.toml": (ROOT / "pyproject.toml").read_text()})
    assert run("ruff check", root)[0] == 1


def test_the_types_can_fail(grow: Grow) -> None:
    root = grow(
        {
            "service/x.py": "def f(a):\n    return a\n",
            "tests/x.py": "",
            "pyproject.toml": (ROOT / "pyproject.toml").read_text(),
        }
    )
    assert run("mypy", root)[0] == 1


@pytest.mark.parametrize(
    ("module", "line", "broken"),
    [
        ("domain/x.py", "from service.rules import book", "Imports go down only"),
        ("fhir/x.py", "import service.storage", "Imports go down only"),
        ("rules/x.py", "import sqlite3", "The core reaches nothing outside"),
        ("application/x.py", "import os", "The core reaches nothing outside"),
        ("web/x.py", "import fhir.resources", "FHIR leaves the house"),
    ],
)
def test_the_floors_can_fail(grow: Grow, module: str, line: str, broken: str) -> None:
    rooms = ("domain", "rules", "application", "storage", "fhir", "web")
    root = grow(
        {
            "service/__init__.py": "",
            "service/settings.py": "",
            **{f"service/{room}/__init__.py": "" for room in rooms},
            "service/rules/book.py": "",
            f"service/{module}": f"{line}\n",
            "pyproject.toml": (ROOT / "pyproject.toml").read_text(),
        }
    )
    code, said = run("lint-imports --no-cache", root)
    kept = [row for row in said.splitlines() if row.endswith(" BROKEN")]
    assert code == 1
    assert len(kept) == 1
    assert kept[0].startswith(broken)
