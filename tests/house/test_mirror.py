"""Is a module without its test found?"""

from tests.house.conftest import Grow
from tests.house.mirror import faults
from tests.house.tree import ROOT


def test_every_module_has_its_test() -> None:
    assert faults(ROOT) == []


def test_a_module_that_does_something_and_has_no_test_is_found(grow: Grow) -> None:
    root = grow(
        {
            "service/domain/__init__.py": '"""Which?"""\n',
            "service/domain/words.py": '"""Which?"""\nONE = 1\n',
            "service/domain/tested.py": "def f(): ...\n",
            "service/domain/bare.py": "def f(): ...\n",
            "service/web/bare.py": "class A:\n    async def f(self): ...\n",
            "service/storage/versions/v0001.py": "def f(): ...\n",
            "tests/domain/test_tested.py": "",
        }
    )
    assert faults(root) == [
        "service/domain/bare.py: no tests/domain/test_bare.py",
        "service/web/bare.py: no tests/web/test_bare.py",
    ]
