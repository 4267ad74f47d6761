"""Is a module without its test found?"""

import pytest

from tests.house import mirror
from tests.house.conftest import Grow
from tests.house.tree import ROOT


def test_every_module_has_its_test() -> None:
    assert mirror.faults(ROOT) == []


def test_a_module_without_its_test_and_a_stale_excuse_are_found(
    grow: Grow, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(mirror, "ELSEWHERE", {"service/web/gone.py": "", "service/web/made.py": ""})
    root = grow(
        {
            "service/domain/__init__.py": '"""Which?"""\n',
            "service/domain/words.py": '"""Which?"""\nONE = 1\n',
            "service/domain/tested.py": "def f(): ...\n",
            "service/domain/bare.py": "def f(): ...\n",
            "service/web/bare.py": "class A:\n    async def f(self): ...\n",
            "service/web/made.py": "def f(): ...\n",
            "tests/domain/test_tested.py": "",
        }
    )
    assert mirror.faults(root) == [
        "service/domain/bare.py: no tests/domain/test_bare.py",
        "service/web/bare.py: no tests/web/test_bare.py",
        "service/web/gone.py: excused from a test of its own, but not there",
    ]
