"""Has every way to attack an interface its controls, and every control a test that is there?"""

import re
from collections.abc import Iterator
from pathlib import Path

from tests.house.hazards import CITED, tests_in

HEADING = re.compile(r"^## API([0-9]+): .+$", re.MULTILINE)
WAYS = 10
FEWEST = 3


def faults(root: Path) -> list[str]:
    """Ways that are missing or badly defended, and cited tests that are not there."""
    text = (root / "docs" / "security.md").read_text(encoding="utf-8")
    index = (root / "docs" / "README.md").read_text(encoding="utf-8")
    said = [] if "(security.md)" in index else ["security.md: is not in docs/README.md"]
    found = [int(number) for number in HEADING.findall(text)]
    if found != list(range(1, WAYS + 1)):
        said.append(f"security.md: speaks of {found}, not of 1 to {WAYS} in order")
    if "## What is open" not in text:
        said.append("security.md: does not say what is open")
    for part in re.split(r"^(?=## )", text, flags=re.MULTILINE):
        heading = HEADING.match(part)
        if heading:
            said += _way(f"API{heading[1]}", part)
    return said + list(_cited(root, text))


def _way(name: str, part: str) -> Iterator[str]:
    rows = [line for line in part.splitlines() if line.startswith("|")][2:]
    if len(rows) < FEWEST:
        yield f"{name}: has {len(rows)} controls, not {FEWEST}"
    for row in rows:
        cells = [cell.strip() for cell in row.strip("|").split("|")]
        if len(cells) != 2 or not cells[0]:
            yield f"{name}: a row is not a control and its test: {row[:40]}"
        elif not CITED.search(cells[1]):
            yield f"{name}: a control that no test shows: {cells[0][:40]}"


def _cited(root: Path, text: str) -> Iterator[str]:
    known: dict[str, set[str]] = {}
    for match in CITED.finditer(text):
        path, name = match["path"], match["name"]
        if path not in known:
            known[path] = tests_in(root / path)
        if name not in known[path]:
            yield f"security.md: the test {path}::{name} is not there"
