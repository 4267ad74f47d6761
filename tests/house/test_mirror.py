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
            "service/domain/ports.py": 'class A:\n    def f(self):\n        "Does."\n        ...\n',
            "service/domain/tested.py": "def f(): return 1\n",
            "service/domain/bare.py": "def f(): return 1\n",
            "service/web/bare.py": "class A:\n    async def f(self): return 1\n",
            "service/storage/versions/v0001.py": "def f(): return 1\n",
            "tests/domain/test_tested.py": "",
        }
    )
    assert faults(root) == [
        "service/domain/bare.py: no tests/domain/test_bare.py",
        "service/web/bare.py: no tests/web/test_bare.py",
    ]
