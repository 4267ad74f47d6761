"""Is a code one that its element, its value set and its system allow?"""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from service.fhir.base_facts import Codes
from service.fhir.codes import LOINC, SNOMED, UCUM
from service.fhir.validate_finding import Finding, Rule
from service.fhir.validate_known import Known
from service.fhir.validate_tree import Node

_LOINC = re.compile(r"[1-9]\d{0,6}-\d", re.ASCII)
# Answers, lists, parts and groups, whose check digit is not that of a term.
_LOINC_PART = re.compile(r"(LA|LL|LP|LG)\d{1,8}-\d", re.ASCII)
_SNOMED = re.compile(r"[1-9]\d{5,17}", re.ASCII)
# Powers stand right behind their unit; the star and the caret belong to ten alone.
_UCUM_ONE = re.compile(r"(?:[A-Za-z%'\"_]|\[x\])+([+-]?\d+)?|10[*^]([+-]?\d+)?|\d+", re.ASCII)
_ANNOTATION = re.compile(r"\{[!-z|~]*\}")
# An annotation may stand for a unit, or beside one.
_ANNOTATION_ALONE = re.compile(rf"(^|[./(]){_ANNOTATION.pattern}")
_PARENTHESES = re.compile(r"(?<![^./(])\(([^()]*)\)(?![^./)])")
_BRACKETS = re.compile(r"\[[^\s\[\]{}()]+\]")
_LONGEST_UNIT = 100
_VALUE_SETS = "http://hl7.org/fhir/ValueSet/"
_UNIT_HINT = "This is not written as UCUM writes units. Write it as in kg/m2 or 10*3/uL."

# Verhoeff's dihedral group of order ten, and his permutation.
_TIMES = (
    "0123456789", "1234067895", "2340178956", "3401289567", "4012395678",
    "5987604321", "6598710432", "7659821043", "8765932104", "9876543210",
)  # fmt: skip
_TURN = "1576283094"


def code_findings(node: Node, known: Known) -> Iterator[Finding]:
    """The binding of the element, and the writing of the code."""
    binding = node.element.binding
    if binding is not None and binding.strength == "required" and binding.value_set:
        yield from bound_findings(node.type, node.value, node.path, binding.value_set, known)
    if node.type in ("Coding", "Quantity") and isinstance(node.value, dict):
        yield from _written(node.value, node.path, known)


def bound_findings(
    kind: str, value: Any, path: str, value_set: str, known: Known
) -> Iterator[Finding]:
    """Whether the value is in a set that is required; nothing where the set is no list."""
    codes = known.codes(value_set)
    if codes is None or value is None or is_in(kind, value, codes):
        return
    text = f"The code is not in the required value set {value_set}. Use one that is."
    yield Finding(Rule.CODE_NOT_IN_SET, path, text)


def is_in(kind: str, value: Any, codes: Codes) -> bool:
    """A concept needs one coding of the set; a value of the wrong form is told elsewhere."""
    if kind == "CodeableConcept" and isinstance(value, dict):
        listed = value.get("coding", ())
        return isinstance(listed, list) and any(is_in("Coding", each, codes) for each in listed)
    if kind in ("Coding", "Quantity") and isinstance(value, dict):
        return str(value.get("code")) in codes.get(str(value.get("system")), frozenset())
    if isinstance(value, str):
        return any(value in listed for listed in codes.values())
    return True


def _written(value: Mapping[str, Any], path: str, known: Known) -> Iterator[Finding]:
    system, code = value.get("system"), value.get("code")
    if not isinstance(system, str) or not isinstance(code, str):
        return
    where = f"{path}.code"
    if system.startswith(_VALUE_SETS) or known.codes(system) is not None:
        text = "This is a value set. Name the code system that the code is from."
        yield Finding(Rule.CODE_FORM, f"{path}.system", text)
    if system == UCUM and not is_ucum(code):
        yield Finding(Rule.UNIT_FORM, where, _UNIT_HINT)
    if system == LOINC and not is_loinc(code):
        text = "This is no LOINC code: its form or its check digit is wrong. Correct it."
        yield Finding(Rule.CODE_FORM, where, text)
    if system == SNOMED and not is_snomed(code):
        text = "This is no SNOMED CT identifier: its form or its check digit is wrong. Correct it."
        yield Finding(Rule.CODE_FORM, where, text)
    if known.lacks(system):
        text = "No code system is published here under this address. Correct it."
        yield Finding(Rule.UNKNOWN_CODE, f"{path}.system", text)
    if system in known.systems and code not in known.systems[system]:
        text = f"The code system {system} has no such code. Use one that it has."
        yield Finding(Rule.UNKNOWN_CODE, where, text)


def is_ucum(unit: str) -> bool:
    """Whether ``unit`` has the form of UCUM. Which atoms there are is not looked at."""
    if not 0 < len(unit) <= _LONGEST_UNIT:
        return False
    bare = _ANNOTATION.sub("", _ANNOTATION_ALONE.sub(r"\g<1>1", unit))
    return _is_term(_BRACKETS.sub("[x]", bare).removeprefix("/"))


def _is_term(term: str) -> bool:
    """Units with ``.`` and ``/`` between them; whole terms may stand in parentheses."""
    while (opened := _PARENTHESES.search(term)) is not None:
        if not _is_term(opened[1]):
            return False
        term = f"{term[: opened.start()]}m{term[opened.end() :]}"
    return all(_UCUM_ONE.fullmatch(part) for part in re.split(r"[./]", term))


def is_loinc(code: str) -> bool:
    """The check digit is by modulus ten, every other digit from the right doubled."""
    if _LOINC_PART.fullmatch(code):
        return True
    if not _LOINC.fullmatch(code):
        return False
    number, check = code.split("-")
    doubled = "".join(
        str(int(digit) * (2 - place % 2)) for place, digit in enumerate(reversed(number))
    )
    return (sum(map(int, doubled)) + int(check)) % 10 == 0


def is_snomed(code: str) -> bool:
    """The check digit is Verhoeff's."""
    if not _SNOMED.fullmatch(code):
        return False
    check = "0"
    for place, digit in enumerate(reversed(code)):
        turned = digit
        for _ in range(place % 8):
            turned = _TURN[int(turned)]
        check = _TIMES[int(check)][int(turned)]
    return check == "0"
