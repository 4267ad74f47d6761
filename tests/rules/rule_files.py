"""How does a test break one rule file of a copy?"""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from service.rules.load import HERE, read_book
from service.rules.reading import BadRuleBook

Edit = Callable[[str], str]


def copied(into: Path) -> Path:
    """A copy of the rule files alone, in their folders."""
    root = into / "rules"
    shutil.copytree(HERE, root, ignore=shutil.ignore_patterns("*.py", "__pycache__"))
    return root


def instead(old: str, new: str) -> Edit:
    """``new`` in place of the first ``old``, which must be there."""

    def edit(text: str) -> str:
        assert old in text, old
        return text.replace(old, new, 1)

    return edit


def line(start: str, new: str = "") -> Edit:
    """``new`` in place of the first line that begins with ``start``, which must be there."""

    def edit(text: str) -> str:
        lines = text.splitlines()
        lines[next(n for n, each in enumerate(lines) if each.startswith(start))] = new
        return "\n".join(lines)

    return edit


def added(text: str) -> Edit:
    return lambda before: f"{before}\n{text}\n"


def on_top(text: str) -> Edit:
    return lambda before: f"{text}\n{before}"


def write(root: Path, file: str, edit: Edit) -> None:
    path = root / file
    path.write_text(edit(path.read_text(encoding="utf-8")), encoding="utf-8")


def faults_of(root: Path) -> list[str]:
    """What stops the start."""
    with pytest.raises(BadRuleBook) as refused:
        read_book(root)
    assert all(fault in str(refused.value) for fault in refused.value.faults)
    return refused.value.faults
