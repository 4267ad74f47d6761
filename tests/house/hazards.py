"""Does every hazard have a control that a test shows, or is it said to be open?"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROW = re.compile(r"^\| *[0-9]+ *\|")
CITED = re.compile(r"`(?P<path>tests/[^`:]*)::(?P<name>[^`]*)`")
COLUMNS = 6
OPEN = "open"


def faults(root: Path) -> list[str]:
    """Every hazard without a control or without proof, and every cited test that is not there."""
    text = (root / "docs" / "hazards.md").read_text(encoding="utf-8")
    index = (root / "docs" / "README.md").read_text(encoding="utf-8")
    said = [] if "(hazards.md)" in index else ["hazards.md: is not in docs/README.md"]
    rows = [line for line in text.splitlines() if ROW.match(line)]
    if not rows:
        said.append("hazards.md: has no hazard")
    for count, row in enumerate(rows, 1):
        said += _row(count, [cell.strip() for cell in row.strip().strip("|").split("|")])
    return said + list(_cited(root, text))


def _row(count: int, cells: list[str]) -> Iterator[str]:
    if len(cells) != COLUMNS:
        yield f"hazard {count}: has {len(cells)} columns, not {COLUMNS}"
        return
    number, hazard, cause, control, shown, missing = cells
    if number != str(count):
        yield f"hazard {count}: is numbered {number}, so one was deleted or doubled"
    if not hazard or not cause:
        yield f"hazard {count}: does not say what happens and how"
    if not control:
        yield f"hazard {count}: has neither a control nor the word {OPEN}"
    elif control == OPEN and not missing:
        yield f"hazard {count}: is open and does not say what is missing"
    elif control != OPEN and not CITED.search(shown):
        yield f"hazard {count}: has a control that no test shows"


def _cited(root: Path, text: str) -> Iterator[str]:
    known: dict[str, set[str]] = {}
    for match in CITED.finditer(text):
        path, name = match["path"], match["name"]
        if path not in known:
            known[path] = tests_in(root / path)
        if name not in known[path]:
            yield f"hazards.md: the test {path}::{name} is not there"


def tests_in(path: Path) -> set[str]:
    """The names pytest would collect from the top of a module."""
    if not path.is_file():
        return set()
    tree = ast.parse(path.read_text(encoding="utf-8"), filename=str(path))
    functions = (n for n in tree.body if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef))
    return {function.name for function in functions if function.name.startswith("test_")}
