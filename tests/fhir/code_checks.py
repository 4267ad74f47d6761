"""Are codes and units of the systems everybody knows written as those systems write them?"""

import re
from collections.abc import Iterator
from typing import Any

_ATOMS = {"kg", "m", "cm", "s", "min", "h", "a", "%", "Cel", "mm[Hg]", "m2", "1"}
_ANNOTATION = re.compile(r"\{[\x21-\x7a\x7c\x7e]*\}")
_LOINC = re.compile(r"\d{1,7}-\d")

# Verhoeff's dihedral group of order ten, and his permutation, for the SNOMED CT check digit.
_TIMES = [
    [0, 1, 2, 3, 4, 5, 6, 7, 8, 9], [1, 2, 3, 4, 0, 6, 7, 8, 9, 5],
    [2, 3, 4, 0, 1, 7, 8, 9, 5, 6], [3, 4, 0, 1, 2, 8, 9, 5, 6, 7],
    [4, 0, 1, 2, 3, 9, 5, 6, 7, 8], [5, 9, 8, 7, 6, 0, 4, 3, 2, 1],
    [6, 5, 9, 8, 7, 1, 0, 4, 3, 2], [7, 6, 5, 9, 8, 2, 1, 0, 4, 3],
    [8, 7, 6, 5, 9, 3, 2, 1, 0, 4], [9, 8, 7, 6, 5, 4, 3, 2, 1, 0],
]  # fmt: skip
_TURN = [1, 5, 7, 6, 2, 8, 3, 0, 9, 4]


def code_faults(path: str, element: dict[str, Any]) -> Iterator[str]:
    """What is wrong with the code of one Coding or Quantity."""
    code = element.get("code")
    check = _CHECKS.get(str(element.get("system")))
    if check is not None and isinstance(code, str) and not check(code):
        yield f"{path}: {code} is not written as its system writes codes"


def is_ucum(unit: str) -> bool:
    """Whether ``unit`` is UCUM, as far as this service uses it: atoms joined by ``.`` and ``/``,
    with annotations, no exponent but that of an area."""
    if not unit or " " in unit:
        return False
    bare = _ANNOTATION.sub("", unit)
    if not bare:
        return True
    return all(part in _ATOMS for part in re.split(r"[./]", bare.removeprefix("/")))


def is_loinc(code: str) -> bool:
    """Whether the check digit of ``code`` is right (modulus ten, doubling every other digit)."""
    if not _LOINC.fullmatch(code):
        return False
    number, check = code.split("-")
    total = 0
    for place, digit in enumerate(reversed(number)):
        value = int(digit) * (2 if place % 2 == 0 else 1)
        total += value - 9 if value > 9 else value
    return (10 - total % 10) % 10 == int(check)


def is_snomed(code: str) -> bool:
    """Whether the check digit of ``code`` is right (Verhoeff)."""
    if not re.fullmatch(r"[1-9]\d{5,17}", code):
        return False
    check = 0
    for place, digit in enumerate(reversed(code)):
        turned = int(digit)
        for _ in range(place % 8):
            turned = _TURN[turned]
        check = _TIMES[check][turned]
    return check == 0


_CHECKS = {
    "http://unitsofmeasure.org": is_ucum,
    "http://loinc.org": is_loinc,
    "http://snomed.info/sct": is_snomed,
}
