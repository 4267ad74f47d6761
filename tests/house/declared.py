"""Is every library that is imported asked for in pyproject.toml, where it is imported?"""

import ast
import sys
import tomllib
from collections.abc import Iterator, Mapping
from importlib.metadata import packages_distributions
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.house.locks import group
from tests.house.tree import modules, named

OWN = {"service", "tests"}


def faults(root: Path, owners: Mapping[str, list[str]] | None = None) -> list[str]:
    """Imports of libraries that are there by luck, because another library brought them.

    ``owners``: which distributions a top-level module comes from; as installed, if not given.
    """
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    run = _names(project["project"]["dependencies"])
    for extra in project["project"].get("optional-dependencies", {}).values():
        run |= _names(extra)
    test = run | _names(group(project["dependency-groups"], "dev"))
    known = packages_distributions() if owners is None else owners
    return [
        f"{named(root, path)}: {module} is imported and not asked for"
        for folder, allowed in (("service", run), ("tests", test))
        for path, tree in modules(root, folder)
        for module in sorted({*_imported(tree)} - OWN - sys.stdlib_module_names)
        if not allowed & _canonical(known.get(module, []))
    ]


def _imported(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level and node.module:
            yield node.module.split(".")[0]


def _names(requirements: list[str]) -> set[str]:
    return _canonical([Requirement(text).name for text in requirements])


def _canonical(names: list[str]) -> set[str]:
    return {str(canonicalize_name(name)) for name in names}
