"""How does a house rule get a small tree that breaks it?"""

from collections.abc import Callable
from pathlib import Path

import pytest

Grow = Callable[..., Path]


@pytest.fixture
def grow(tmp_path: Path) -> Grow:
    """Write files, given as path → text, into an empty tree and return its root."""

    def write(files: dict[str, str]) -> Path:
        for name, text in files.items():
            path = tmp_path / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        return tmp_path

    return write
