"""Does the tree speak of the project alone, and name no machine and no package index?"""

import re
from collections.abc import Iterator
from pathlib import Path

from tests.house.tree import files, named

# One letter of each stands in brackets, or this file would be its own first fault.
FORBIDDEN = {
    "a package index": ("[p]ypi", "[p]ythonhosted", r"[r]egistry\.npm", r"deb\.[d]ebian\.org"),
    "a path of one machine": ("/[w]ork/", "/[o]pt/venv", "/[r]oot/", "/[h]ome/[a-z]", "/[U]sers/"),
    "a ticket": (r"\b[iI][s]sue[ _-]?#?[0-9]", r"\b[t]icket #?[0-9]"),
    "how the work was organised": (
        r"\b(this|last|next|earlier|previous) [s]ession\b",
        r"\bbri[e]f\.md",
        r"\bste[e]ring (repo|document)",
        r"\bdesig[n]/[0-9]-",
    ),
}
PATTERNS = {what: re.compile("|".join(words)) for what, words in FORBIDDEN.items()}


def faults(root: Path) -> list[str]:
    """Every line that says what the tree must not say."""
    return [said for path in files(root) for said in _file(root, path)]


def _file(root: Path, path: Path) -> Iterator[str]:
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        yield f"{named(root, path)}: is not text"
        return
    for number, line in enumerate((named(root, path), *text.splitlines())):
        for what, pattern in PATTERNS.items():
            if pattern.search(line):
                yield f"{named(root, path)}:{number}: names {what}"
