"""Does any number with a clinical meaning hide in the code that reads the rules?

A cut point in a module has no source and no standing; it belongs in a rule file.
"""

import ast
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from pathlib import Path

from tests.house.tree import modules, named

# Counting, tenths and hundredths: how numbers are written, not what they mean.
PLAIN = {Decimal(text) for text in ("0", "1", "2", "10", "100", "0.1")}
# Limits on how rule files are written.
FORM = {
    ("service/rules/files.py", "3"): "shortest text",
    ("service/rules/files.py", "40"): "longest id",
    ("service/rules/norm_files.py", "6"): "most decimals a score is given with",
    ("service/rules/features.py", "8"): "bits a byte",
    ("service/rules/limbs.py", "3"): "how many words a weight-bearing order has",
    ("service/rules/load.py", "4"): "how many read rule books are kept",
}
NUMBER_CALLS = {"Decimal", "Fraction", "int", "float"}


def faults(root: Path) -> list[str]:
    """Every number under rules/ that is neither counting nor a limit of the form."""
    return [
        f"{named(root, path)}:{line}: {number} belongs in a rule file"
        for path, tree in modules(root, "service/rules")
        for line, number in _numbers(tree)
        if _number(number) not in PLAIN and (named(root, path), number) not in FORM
    ]


def _numbers(tree: ast.Module) -> Iterator[tuple[int, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and type(node.value) in (int, float):
            yield node.lineno, str(node.value)
        elif isinstance(node, ast.Call) and getattr(node.func, "id", "") in NUMBER_CALLS:
            yield from (
                (node.lineno, argument.value)
                for argument in node.args
                if isinstance(argument, ast.Constant) and isinstance(argument.value, str)
            )


def _number(text: str) -> Decimal | None:
    try:
        return Decimal(text)
    except InvalidOperation:
        return None
