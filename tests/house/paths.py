"""Is every file that a document points to there?"""

import re
from collections.abc import Iterator
from pathlib import Path

from tests.house.tree import files, named

QUOTED = re.compile(r"`([A-Za-z0-9_./-]+/[A-Za-z0-9_./-]*)`")
LINKED = re.compile(r"\]\((?!https?:|#|mailto:)([^)#\s]+)")
PLACES = ("service/", "tests/", "docs/", "docker/", "samples/", "openapi/", ".ci/")


def faults(root: Path) -> list[str]:
    """Links and quoted paths in Markdown that lead nowhere."""
    return [said for path in files(root) if path.suffix == ".md" for said in _one(root, path)]


def _one(root: Path, path: Path) -> Iterator[str]:
    text = path.read_text(encoding="utf-8")
    for target in QUOTED.findall(text):
        if target.startswith(PLACES) and not (root / target).exists():
            yield f"{named(root, path)}: {target} is not there"
    for target in LINKED.findall(text):
        if not (path.parent / target).exists():
            yield f"{named(root, path)}: the link to {target} leads nowhere"
