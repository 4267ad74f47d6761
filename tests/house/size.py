"""Does every module fit on a few screens and every function on one?"""

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.house.tree import files, modules, named

MODULE_LINES = 250
FUNCTION_LINES = 40
FOLDERS = 2
# Written by commands, read by nobody: a migration is one long function by nature.
GENERATED = ("service/storage/versions/", "service/storage/statements_")


def faults(root: Path) -> list[str]:
    """Modules and functions that are too long, and folders that are too deep."""
    return [*_long(root), *_deep(root)]


def _long(root: Path) -> Iterator[str]:
    for folder in ("service", "tests"):
        for path, tree in modules(root, folder):
            name = named(root, path)
            if name.startswith(GENERATED):
                continue
            lines = len(path.read_text(encoding="utf-8").splitlines())
            if lines > MODULE_LINES:
                yield f"{name}: {lines} lines, {MODULE_LINES} fit"
            yield from (f"{name}:{said}" for said in _long_functions(tree))


def _long_functions(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        lines = (node.end_lineno or node.lineno) - node.lineno + 1
        if lines > FUNCTION_LINES:
            yield f"{node.lineno}: {node.name} has {lines} lines, {FUNCTION_LINES} fit"


def _deep(root: Path) -> Iterator[str]:
    for path in files(root / "service"):
        folders = len(path.relative_to(root / "service").parts) - 1
        if folders > FOLDERS:
            yield f"{named(root, path)}: {folders} folders below service/, {FOLDERS} are allowed"
