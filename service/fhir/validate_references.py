"""Is a reference written as one, and does it lead to what its element may refer to?"""

import re
from collections.abc import Iterator

from service.fhir.base_facts import STRUCTURE
from service.fhir.validate_finding import Finding, Rule
from service.fhir.validate_known import Known
from service.fhir.validate_tree import Json, Node, Within, resource_types

_LITERAL = re.compile(
    r"(?:(?P<server>https?://\S+)/)?(?P<type>[A-Z][A-Za-z]+)/(?P<id>[A-Za-z0-9.-]{1,64})"
    r"(?:/_history/[A-Za-z0-9.-]{1,64})?",
    re.ASCII,
)
_NAMED = re.compile(r"urn:(uuid:[0-9a-f-]{36}|oid:[0-2](\.\d+)+)", re.ASCII)
_ABSOLUTE = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:\S+", re.ASCII)
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
    if not isinstance(literal, str) or literal.startswith("#"):
        return
    found = _LITERAL.fullmatch(literal)
    if found is None and not _ABSOLUTE.fullmatch(literal):
        text = "Write Type/id, an absolute address, urn:uuid: or # and the id of what is contained."
        yield Finding(Rule.REFERENCE_FORM, where, text)
    elif literal.startswith("urn:") and not _NAMED.fullmatch(literal):
        yield Finding(Rule.REFERENCE_FORM, where, "Write urn:uuid: in small letters, or urn:oid:.")
    elif found and not found["server"] and found["type"] not in resource_types():
        yield Finding(Rule.REFERENCE_TYPE, where, "R4 has no resource of this type.")


def target_findings(
    value: Json, path: str, within: Within, allowed: frozenset[str]
) -> Iterator[Finding]:
    """``allowed``: types of resource; empty where any will do."""
    literal, said = type_of(value, within), value.get("type")
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
    found = _LITERAL.fullmatch(literal)
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


def bundle_findings(bundle: Json, nodes: list[Node]) -> Iterator[Finding]:
    """urn:uuid: leads to an entry of the same Bundle, or nowhere."""
    entries = bundle.get("entry", ())
    if bundle.get("resourceType") != "Bundle" or not isinstance(entries, list):
        return
    named = {str(each.get("fullUrl")) for each in entries if isinstance(each, dict)}
    for node in nodes:
        literal = node.value.get("reference") if node.type == "Reference" else None
        if isinstance(literal, str) and literal.startswith("urn:uuid:") and literal not in named:
            text = "No entry of this Bundle has this fullUrl. Correct the reference or add it."
            yield Finding(Rule.REFERENCE_DANGLING, f"{node.path}.reference", text)
