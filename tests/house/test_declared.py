"""Is a library found that is imported and not asked for?"""

from tests.house.conftest import Grow
from tests.house.declared import faults
from tests.house.tree import ROOT

PROJECT = """
project.dependencies = ["Asked_For>=1"]
dependency-groups.dev = ["tester"]
"""
OWNERS = {"asked": ["asked-for"], "testing": ["tester"], "lucky": ["luck"]}


def test_every_import_is_asked_for() -> None:
    assert faults(ROOT) == []


def test_what_another_library_brought_is_found(grow: Grow) -> None:
    root = grow(
        {
            "pyproject.toml": PROJECT,
            "service/a.py": "import os\nimport asked.x\nfrom lucky.x import y\n",
            "service/b.py": "import testing\nfrom service import a\n",
            "tests/c.py": "import testing, asked, unheard_of\n",
        }
    )
    assert faults(root, OWNERS) == [
        "service/a.py: lucky is imported and not asked for",
        "service/b.py: testing is imported and not asked for",
        "tests/c.py: unheard_of is imported and not asked for",
    ]
