"""Is a reference written as one, and does it lead to what its element may refer to?"""

import re
from collections.abc import Iterator

from service.fhir.base_facts import STRUCTURE
from service.fhir.validate_finding import Finding, Rule, Severity
from service.fhir.validate_known import Known
from service.fhir.validate_tree import Json, Node, Within, resource_types

LITERAL = re.compile(
    r"(?:(?P<server>https?://\S+)/)?(?P<type>[A-Z][A-Za-z]+)/(?P<id>[A-Za-z0-9.-]{1,64})"
    r"(?:/_history/[A-Za-z0-9.-]{1,64})?",
    re.ASCII,
)
_UUID = "[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}"
NAMED = re.compile(rf"urn:(uuid:{_UUID}|oid:[0-2](\.(0|[1-9][0-9]*))+)", re.ASCII)
_ABSOLUTE = re.compile(r"https?://\S+|urn:\S+", re.ASCII)
_ANY_ABSOLUTE = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:\S+", re.ASCII)
# Inside another, an extension is named by one word.
_INNER_EXTENSION = re.compile(r".*xtension\[\d+\]\.(modifierE|e)xtension\[\d+\]")
_CONDITIONAL = re.compile(r"(?P<type>[A-Z][A-Za-z]+)\?\S+", re.ASCII)
_ANY = "Resource"


def reference_findings(node: Node, known: Known) -> Iterator[Finding]:
    """Whether a Reference is written well and of a type that is allowed."""
    if node.type != "Reference" or node.slot is None:
        return
    yield from _written(node)
    allowed = allowed_types(node.slot.kind.targets, known)
    yield from target_findings(node.value, node.path, node.within, allowed)


def _written(node: Node) -> Iterator[Finding]:
    literal = node.value.get("reference")
    where = f"{node.path}.reference"
    if set(node.value) <= {"id", "type"}:
        text = "This leads nowhere. Give reference, identifier or display."
        yield Finding(Rule.REFERENCE_FORM, node.path, text, Severity.WARNING)
    if not isinstance(literal, str) or literal.startswith("#") or _is_asked(literal, node.within):
        return
    found = LITERAL.fullmatch(literal)
    if found is None and not _ABSOLUTE.fullmatch(literal):
        text = "Write Type/id, http: or https:, urn:uuid:, or # and the id of what is contained."
        yield Finding(Rule.REFERENCE_FORM, where, text)
    elif literal.startswith("urn:") and not NAMED.fullmatch(literal):
        yield Finding(Rule.REFERENCE_FORM, where, "Write urn:uuid: in small letters, or urn:oid:.")
    elif found and not found["server"] and found["type"] not in resource_types():
        yield Finding(Rule.REFERENCE_TYPE, where, "R4 has no resource of this type.")


def _is_asked(literal: str, within: Within) -> bool:
    """A transaction may name what it refers to by a search."""
    found = _CONDITIONAL.fullmatch(literal)
    asked = within.bundle is not None and within.bundle.get("type") == "transaction"
    return asked and found is not None and found["type"] in resource_types()


def target_findings(
    value: Json, path: str, within: Within, allowed: frozenset[str]
) -> Iterator[Finding]:
    """``allowed``: types of resource; empty where any will do."""
    literal, said = type_of(value, within), value.get("type")
    if isinstance(said, str) and said not in resource_types() and ":" not in said:
        text = "R4 has no resource of this type. Name one that it has."
        yield Finding(Rule.REFERENCE_TYPE, f"{path}.type", text)
    if literal and isinstance(said, str) and said in resource_types() and said != literal:
        text = "type says another type of resource than reference does. Correct one of them."
        yield Finding(Rule.REFERENCE_TYPE, f"{path}.type", text)
    kind = literal or (said if isinstance(said, str) else None)
    if allowed and kind in resource_types() and kind not in allowed:
        text = f"This may refer to {', '.join(sorted(allowed))} only."
        yield Finding(Rule.REFERENCE_TYPE, path, text)


def type_of(value: Json, within: Within) -> str | None:
    """The type of resource that a literal reference names, as far as it can be told."""
    literal = value.get("reference")
    if not isinstance(literal, str):
        return None
    if literal.startswith("#"):
        return within.contained.get(literal[1:])
    found = LITERAL.fullmatch(literal) or _CONDITIONAL.fullmatch(literal)
    return found["type"] if found and found["type"] in resource_types() else None


def allowed_types(targets: tuple[str, ...], known: Known) -> frozenset[str]:
    """The types that canonicals of types or profiles stand for; empty where any will do."""
    types = set()
    for target in targets:
        profile = known.profiles.get(target.partition("|")[0])
        kind = profile.type if profile else target.removeprefix(STRUCTURE)
        if kind == _ANY or kind not in resource_types():
            return frozenset()
        types.add(kind)
    return frozenset(types)


def extension_findings(node: Node) -> Iterator[Finding]:
    """An extension is named by an absolute address, unless it is a part of another."""
    url = node.value.get("url")
    if not isinstance(url, str) or _ANY_ABSOLUTE.fullmatch(url):
        return
    if not _INNER_EXTENSION.fullmatch(node.path):
        text = "An extension is named by an absolute address. Write the whole of it."
        yield Finding(Rule.VALUE_FORM, f"{node.path}.url", text)
