"""Who reaches outside: for the environment, the clock, chance, or the FHIR library?

import-linter holds the floors by module; this looks at single names, which it cannot see.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.house.tree import modules, named

SETTINGS = "service/settings.py"
PURE = ("service/domain/", "service/rules/", "service/application/")
ENVIRONMENT = {"environ", "environb", "getenv", "getenvb", "putenv"}
CLOCK = {"now", "utcnow", "today", "time", "time_ns", "monotonic", "perf_counter"}
CHANCE = {"uuid1", "uuid4", "uuid7", "urandom", "token_hex", "token_bytes", "randint", "random"}
READERS = {"datetime", "date", "time", "os", "uuid", "secrets", "random"}


def faults(root: Path) -> list[str]:
    """Every name that is read on the wrong floor, and each FHIR library import but the first."""
    importers = []
    said = []
    for path, tree in modules(root, "service"):
        name = named(root, path)
        if any(module.split(".")[0] == "fhir" for module in _imports(tree)):
            importers.append(name)
        if name != SETTINGS:
            said += [f"{name}:{line}: reads the environment" for line in _read(tree, ENVIRONMENT)]
        if name.startswith(PURE):
            said += [f"{name}:{line}: asks the clock" for line in _read(tree, CLOCK)]
            said += [f"{name}:{line}: leaves it to chance" for line in _read(tree, CHANCE)]
    return said + [f"{name}: imports the FHIR library as well" for name in importers[1:]]


def _imports(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and not node.level:
            yield node.module or ""
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def _read(tree: ast.Module, names: set[str]) -> Iterator[int]:
    """Lines that import one of ``names`` or take it off a module or class that has it."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module in READERS - {"datetime"}:
            if names & {alias.name for alias in node.names}:
                yield node.lineno
        elif isinstance(node, ast.Attribute) and node.attr in names and _owner(node) in READERS:
            yield node.lineno


def _owner(node: ast.Attribute) -> str:
    owner = node.value
    return owner.attr if isinstance(owner, ast.Attribute) else getattr(owner, "id", "")
