"""Is every decision on record: numbered, with a standing, and in the index?"""

import re
from collections.abc import Iterator
from pathlib import Path

NAME = re.compile(r"^(?P<number>[0-9]{4})-[a-z0-9-]+\.md$")
STANDING = re.compile(r"^Standing: (accepted|superseded by (?P<by>[0-9]{4}))\.?$", re.MULTILINE)
PARTS = ("## Why", "## What follows")


def faults(root: Path) -> list[str]:
    """Every decision that cannot be found, or that does not say where it stands and why."""
    folder = root / "docs" / "decisions"
    index = (root / "docs" / "README.md").read_text(encoding="utf-8")
    names = sorted(path.name for path in folder.iterdir())
    said = [f"{name}: is not in docs/README.md" for name in names if name not in index]
    for count, name in enumerate(names, 1):
        match = NAME.match(name)
        if not match or int(match["number"]) != count:
            said.append(f"{name}: is not number {count:04}, so one was deleted or doubled")
        said += _one(folder / name, names)
    return said


def _one(path: Path, names: list[str]) -> Iterator[str]:
    text = path.read_text(encoding="utf-8")
    standing = STANDING.search(text)
    if not standing:
        yield f"{path.name}: does not say its standing"
    elif standing["by"] and not any(name.startswith(standing["by"]) for name in names):
        yield f"{path.name}: is superseded by a decision that is not there"
    yield from (f"{path.name}: has no part `{part}`" for part in PARTS if part not in text)
