"""Which files belong to the project, whatever else lies in the checkout?"""

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MADE = ("__pycache__", "dist", "build", "node_modules")
LEFT = (".coverage", ".DS_Store")
KEPT_HIDDEN = (".ci",)


def files(root: Path) -> Iterator[Path]:
    """Every file of the project, sorted; what tools leave behind is passed over."""
    for path in sorted(root.iterdir()):
        if path.is_file():
            if not path.name.startswith(LEFT):
                yield path
        elif _belongs(path):
            yield from files(path)


def modules(root: Path, folder: str = "") -> Iterator[tuple[Path, ast.Module]]:
    """The Python modules below ``folder``, parsed."""
    for path in files(root / folder):
        if path.suffix == ".py":
            yield path, ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def named(root: Path, path: Path) -> str:
    """How a fault names a file."""
    return path.relative_to(root).as_posix()


def _belongs(folder: Path) -> bool:
    if folder.name in KEPT_HIDDEN:
        return True
    return not (
        folder.name.startswith(".") or folder.name in MADE or folder.name.endswith(".egg-info")
    )
