"""Does every file say by its name and first line what it is for, and lie where it is looked for?"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from tests.house.tree import files, modules, named

EMPTY_NAMES = re.compile(r"utils?|common|managers?|misc|base|stuff")
# Helpers are people here, so the word is empty only where it stands alone.
EMPTY_ALONE = re.compile(r"helpers?")
# What the standard itself calls the base of its profiles.
FHIR_BASE = ("base_facts", "test_base_facts", "base_values")
# The one module whose docstring is a title: it is what `help(service)` prints.
TITLED = ("service/__init__.py",)
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "pyproject.toml",
    "requirements.txt",
    "requirements-postgres.txt",
    "requirements-dev.txt",
    "requirements-fhir.txt",
    "service",
    "openapi",
    "tests",
    "docker",
    "samples",
    "docs",
}


def faults(root: Path) -> list[str]:
    """Strange things at the top, names that say nothing, modules that ask no question."""
    return [*_strangers(root), *_empty_names(root), *_unasked(root)]


def _strangers(root: Path) -> Iterator[str]:
    tops = {path.relative_to(root).parts[0] for path in files(root)}
    for name in sorted(tops - TOP):
        if not name.startswith("."):
            yield f"{name}: does not belong at the top"
    for name in sorted(TOP - tops):
        yield f"{name}: is missing at the top"


def _empty_names(root: Path) -> Iterator[str]:
    for path in files(root):
        if path.suffix != ".py":
            continue
        words = [*path.relative_to(root).parts[:-1], path.stem]
        words = [word for word in words if word not in FHIR_BASE]
        parts = [part for word in words for part in re.split(r"[_.-]", word)]
        if any(map(EMPTY_NAMES.fullmatch, parts)) or any(map(EMPTY_ALONE.fullmatch, words)):
            yield f"{named(root, path)}: the name does not say what is in it"


def _unasked(root: Path) -> Iterator[str]:
    for folder in ("service", "tests"):
        for path, tree in modules(root, folder):
            name = named(root, path)
            if name in TITLED or name.startswith("service/storage/versions/"):
                continue
            first = (ast.get_docstring(tree) or "").partition("\n")[0]
            if "?" not in first:
                yield f"{name}: its first line does not say which question it answers"
