"""Does every module have the test file that carries its name?"""

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.house.tree import modules, named

ROOMS = ("domain", "rules", "application", "storage", "fhir", "delivery", "web")
# Migrations are tested by running them all: tests/house/test_drift.py.
TOGETHER = "service/storage/versions/"


def faults(root: Path) -> list[str]:
    """Every module that does something and has no test of its name."""
    return list(_untested(root))


def _untested(root: Path) -> Iterator[str]:
    for room in ROOMS:
        if not (root / "service" / room).is_dir():
            continue
        tests = root / "tests" / room
        for path, tree in modules(root, f"service/{room}"):
            name = named(root, path)
            if name.startswith(TOGETHER) or not _runs(tree):
                continue
            within = path.parent.relative_to(root / "service" / room)
            wanted = tests / within / f"test_{path.name}"
            if not wanted.is_file():
                yield f"{name}: no {named(root, wanted)}"


def _runs(tree: ast.Module) -> bool:
    """Words alone (enums, Structs, constants, ports) are tested where they are used."""
    return any(
        isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and not _is_declared_only(node)
        for node in ast.walk(tree)
    )


def _is_declared_only(function: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    """A method of a port: a docstring, or three dots, and nothing else."""
    return all(
        isinstance(part, ast.Expr) and isinstance(part.value, ast.Constant)
        for part in function.body
    )
