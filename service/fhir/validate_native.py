"""Do the invariants hold that are asked of nearly every element and data type?

Each is one of the standard's own, by its key, and says what the expression there says.
"""

from collections.abc import Callable
from datetime import datetime
from decimal import Decimal

from service.fhir.validate_narrative import is_plain, says_something
from service.fhir.validate_tree import Node

Holds = Callable[[Node], bool]


def _has_content(node: Node) -> bool:
    return not isinstance(node.value, dict) or bool(set(node.value) - {"id"})


def _value_or_parts(node: Node) -> bool:
    valued = any(name.removeprefix("_").startswith("value") for name in node.value)
    return valued != ("extension" in node.value)


def _leads_inside(node: Node) -> bool:
    reference = node.value.get("reference")
    if not isinstance(reference, str) or not reference.startswith("#"):
        return True
    own = node.within.root is node.within.resource
    return reference[1:] in node.within.contained or (reference == "#" and not own)


def _in_order(node: Node) -> bool:
    """Days and times of unequal precision are compared as far as both say."""
    start, end = node.value.get("start"), node.value.get("end")
    if not isinstance(start, str) or not isinstance(end, str):
        return True
    shorter = min(len(start), len(end))
    if "T" not in start or "T" not in end:
        shorter = min(shorter, len("YYYY-MM-DD"))
        return start[:shorter] <= end[:shorter]
    try:
        return datetime.fromisoformat(start) <= datetime.fromisoformat(end)
    except (TypeError, ValueError):
        return True


def _low_first(node: Node) -> bool:
    """Two quantities of unequal units are not compared."""
    low, high = node.value.get("low"), node.value.get("high")
    if not isinstance(low, dict) or not isinstance(high, dict):
        return True
    if any(low.get(name) != high.get(name) for name in ("system", "code", "unit")):
        return True
    least, most = low.get("value"), high.get("value")
    if not isinstance(least, int | Decimal) or not isinstance(most, int | Decimal):
        return True
    return least <= most


def _has_system(node: Node) -> bool:
    return "code" not in node.value or "system" in node.value


def _exists_is_boolean(node: Node) -> bool:
    return node.value.get("operator") != "exists" or "answerBoolean" in node.value


NATIVE: dict[str, Holds] = {
    "ele-1": _has_content,
    "ext-1": _value_or_parts,
    "ref-1": _leads_inside,
    "per-1": _in_order,
    "rng-2": _low_first,
    "qty-3": _has_system,
    "que-7": _exists_is_boolean,
    "txt-1": lambda node: node.value is None or is_plain(node.value),
    "txt-2": lambda node: node.value is None or says_something(node.value),
}
