"""Does every module have the test file that carries its name?"""

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.house.tree import modules, named

ROOMS = ("domain", "rules", "application", "storage", "fhir", "delivery", "web")
# Tested where their work shows, not under their own name.
ELSEWHERE = {
    "service/storage/statements_sqlite.py": "generated; tests/house/test_drift.py",
    "service/storage/statements_postgres.py": "generated; tests/house/test_drift.py",
    "service/storage/migrations/env.py": "tests/storage/test_migrate.py",
}


def faults(root: Path) -> list[str]:
    """Modules without their test, and excuses that nothing needs any more."""
    return [*_untested(root), *_stale(root)]


def _untested(root: Path) -> Iterator[str]:
    for room in ROOMS:
        if not (root / "service" / room).is_dir():
            continue
        tests = root / "tests" / room
        for path, tree in modules(root, f"service/{room}"):
            name = named(root, path)
            if name in ELSEWHERE or not _runs(tree):
                continue
            if not (tests / f"test_{path.name}").is_file():
                yield f"{name}: no tests/{room}/test_{path.name}"


def _runs(tree: ast.Module) -> bool:
    """Words alone (enums, Structs, constants) are tested where they are used."""
    return any(isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) for node in ast.walk(tree))


def _stale(root: Path) -> Iterator[str]:
    for name in ELSEWHERE:
        if (root / "service").is_dir() and not (root / name).is_file():
            yield f"{name}: excused from a test of its own, but not there"
