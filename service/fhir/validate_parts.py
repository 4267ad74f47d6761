"""Do the parts of a whole agree: entries, what is contained, the items of a form?"""

from collections.abc import Iterator, Mapping
from typing import Any

from service.fhir.validate_finding import Finding, Rule
from service.fhir.validate_known import Known
from service.fhir.validate_references import LITERAL, NAMED, allowed_types
from service.fhir.validate_tree import Json, Node, resource_types

# Address of an entry → the type of the resource in it, empty where it cannot be told.
Entries = Mapping[str, str]


def whole_findings(nodes: list[Node], known: Known) -> Iterator[Finding]:
    """What is wrong between the parts of the whole, wherever in it a Bundle is."""
    entries: dict[int, Entries] = {}
    for node in nodes:
        if node.slot is None:
            yield from _contained_findings(node)
        if node.slot is None and node.type == "Bundle":
            entries[id(node.value)] = _entries(node.value)
            yield from _address_findings(node)
        if node.type == "Reference" and node.within.bundle is not None:
            yield from _led_findings(node, entries[id(node.within.bundle)], known)
    yield from _condition_findings(nodes)


def _condition_findings(nodes: list[Node]) -> Iterator[Finding]:
    """A condition of a form asks for an item of the same form."""
    asked = [node for node in nodes if node.base == "Questionnaire.item.enableWhen"]
    if not asked:
        return
    links = {
        (id(node.within.resource), str(node.value.get("linkId")))
        for node in nodes
        if node.base == "Questionnaire.item"
    }
    for node in asked:
        question = node.value.get("question")
        if question is not None and (id(node.within.resource), str(question)) not in links:
            text = "No item of this form has this linkId. Correct it."
            yield Finding(Rule.REFERENCE_DANGLING, f"{node.path}.question", text)


def _contained_findings(node: Node) -> Iterator[Finding]:
    met = set()
    for index, inner in _objects(node.value.get("contained")):
        name = inner.get("id")
        if isinstance(name, str) and name in met:
            text = "Something else that is contained has this id. Give each its own."
            yield Finding(Rule.TOO_MANY, f"{node.path}.contained[{index}].id", text)
        if isinstance(name, str):
            met.add(name)


def _entries(bundle: Json) -> Entries:
    return {
        str(each.get("fullUrl")): _type_of(each.get("resource"))
        for _, each in _objects(bundle.get("entry"))
        if "fullUrl" in each
    }


def _address_findings(node: Node) -> Iterator[Finding]:
    for index, entry in _objects(node.value.get("entry")):
        address, resource = entry.get("fullUrl"), entry.get("resource")
        if isinstance(address, str):
            where = f"{node.path}.entry[{index}].fullUrl"
            yield from _called(address, resource if isinstance(resource, dict) else {}, where)


def _called(address: str, resource: Json, where: str) -> Iterator[Finding]:
    """Whether the address is absolute, and leads to the type and the id of the resource."""
    if address.startswith("urn:") and not NAMED.fullmatch(address):
        yield Finding(Rule.VALUE_FORM, where, "Write urn:uuid: in small letters, or urn:oid:.")
    elif ":" not in address:
        text = "fullUrl is an absolute address, or urn:uuid: and a UUID. Write the whole of it."
        yield Finding(Rule.VALUE_FORM, where, text)
    found = LITERAL.fullmatch(address)
    if found is None or found["type"] not in resource_types():
        return
    kind, name = _type_of(resource), resource.get("id")
    if (kind and kind != found["type"]) or (name is not None and name != found["id"]):
        text = "The resource has another type or id than its fullUrl. Correct one of them."
        yield Finding(Rule.OTHER_ID, where, text)


def _led_findings(node: Node, entries: Entries, known: Known) -> Iterator[Finding]:
    """urn:uuid: leads to an entry of the same Bundle, or nowhere."""
    literal = node.value.get("reference")
    if not isinstance(literal, str):
        return
    if literal.startswith("urn:uuid:") and literal not in entries:
        text = "No entry of this Bundle has this fullUrl. Correct the reference or add it."
        yield Finding(Rule.REFERENCE_DANGLING, f"{node.path}.reference", text)
    kind, said = entries.get(literal, ""), node.value.get("type")
    targets = () if node.slot is None else node.slot.kind.targets
    allowed = allowed_types(targets, known)
    if kind and not LITERAL.fullmatch(literal) and allowed and kind not in allowed:
        text = f"This leads to a {kind}. It may refer to {', '.join(sorted(allowed))} only."
        yield Finding(Rule.REFERENCE_TYPE, node.path, text)
    if kind and isinstance(said, str) and said in resource_types() and said != kind:
        text = f"This leads to a {kind}, and type says another. Correct one of them."
        yield Finding(Rule.REFERENCE_TYPE, f"{node.path}.type", text)


def _type_of(resource: Any) -> str:
    kind = resource.get("resourceType") if isinstance(resource, dict) else None
    return kind if isinstance(kind, str) and kind in resource_types() else ""


def _objects(listed: Any) -> Iterator[tuple[int, Json]]:
    for index, each in enumerate(listed if isinstance(listed, list) else ()):
        if isinstance(each, dict):
            yield index, each
