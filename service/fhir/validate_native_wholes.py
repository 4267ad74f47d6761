"""Do the invariants of whole resources hold that an engine for FHIRPath is slow at?

Each is one of the standard's own, by its key, and says what the expression there says, in a
time that grows with the resource and no faster.
"""

from collections.abc import Callable, Iterable
from typing import Any

from service.fhir.validate_tree import Node

Holds = Callable[[Node], bool]


def _contained(node: Node) -> list[dict[str, Any]]:
    return _objects(node.value.get("contained"))


def _not_nested(node: Node) -> bool:
    return not any("contained" in each for each in _contained(node))


def _contained_is_used(node: Node) -> bool:
    inside = _contained(node)
    if not inside:
        return True
    pointed = {each for each in _texts(node.value) if each.startswith("#")}
    return all(f"#{each.get('id')}" in pointed or "#" in set(_texts(each)) for each in inside)


def _contained_meta(*names: str) -> Holds:
    def holds(node: Node) -> bool:
        metas = [each.get("meta") for each in _contained(node)]
        return not any(name in meta for meta in metas if isinstance(meta, dict) for name in names)

    return holds


def _has_narrative(node: Node) -> bool:
    """A contained resource needs none."""
    if node.within.root is not node.within.resource:
        return True
    text = node.value.get("text")
    return isinstance(text, dict) and "div" in text


def _texts(value: Any) -> Iterable[str]:
    waiting = [value]
    while waiting:
        part = waiting.pop()
        if isinstance(part, str):
            yield part
        elif isinstance(part, dict):
            waiting.extend(part.values())
        elif isinstance(part, list):
            waiting.extend(part)


def _named(value: Any, name: str) -> list[Any]:
    """Everything called ``name``, however deep."""
    found, waiting = [], [value]
    while waiting:
        part = waiting.pop()
        if isinstance(part, dict):
            waiting.extend(part.values())
            if name in part:
                found.append(part[name])
        elif isinstance(part, list):
            waiting.extend(part)
    return found


def _each_link_once(node: Node) -> bool:
    return _distinct(str(each) for each in _named(node.value.get("item"), "linkId"))


def _each_code_once(node: Node) -> bool:
    concepts = [each for part in _named(node.value, "concept") for each in part]
    return _distinct(str(each.get("code")) for each in concepts if isinstance(each, dict))


def _each_entry_once(node: Node) -> bool:
    if node.value.get("type") == "history":
        return True
    entries = node.value.get("entry", ())
    keys = []
    for entry in entries:
        if isinstance(entry, dict) and "fullUrl" in entry:
            meta = (entry.get("resource") or {}).get("meta") or {}
            keys.append(f"{entry['fullUrl']} {meta.get('versionId', '')}")
    return _distinct(keys)


def _names_no_version(node: Node) -> bool:
    return "/_history/" not in str(node.value.get("fullUrl", ""))


def _distinct(values: Iterable[str]) -> bool:
    listed = list(values)
    return len(listed) == len(set(listed))


def _value_is_no_component(node: Node) -> bool:
    if not any(name.startswith("value") for name in node.value):
        return True
    whole = set(_codings(node.value.get("code")))
    components = _objects(node.value.get("component"))
    return not any(whole & set(_codings(each.get("code"))) for each in components)


def _codings(concept: Any) -> list[str]:
    listed = concept.get("coding") if isinstance(concept, dict) else None
    return [repr(sorted(each.items())) for each in _objects(listed)]


def _objects(listed: Any) -> list[dict[str, Any]]:
    return [each for each in listed if isinstance(each, dict)] if isinstance(listed, list) else []


def _below_first(node: Node) -> bool:
    """Of a snapshot: the first is the type, the others are inside it."""
    kind = node.within.resource.get("type")
    paths = [str(each.get("path")) for each in _objects(node.value.get("element"))]
    logical = node.within.resource.get("kind") == "logical"
    return (logical or paths[:1] == [kind]) and _are_below(paths)


def _below_type(node: Node) -> bool:
    """Of a differential, whose first may be inside the type already."""
    kind = str(node.within.resource.get("type"))
    paths = [str(each.get("path")) for each in _objects(node.value.get("element"))]
    logical = node.within.resource.get("kind") == "logical"
    starts = logical or "".join(paths[:1]).startswith(kind)
    return starts and _are_below([path.partition(".")[0] for path in paths[:1]] + paths[1:])


def _are_below(paths: list[str]) -> bool:
    return all(path.startswith(f"{paths[0]}.") for path in paths[1:])


def _groups_exist(node: Node) -> bool:
    groups = {str(each.get("id")) for each in _objects(node.value.get("grouping"))}
    return all(
        str(each["groupingId"]) in groups
        for each in _objects(node.value.get("resource"))
        if "groupingId" in each
    )


def _releases_agree(node: Node) -> bool:
    releases = node.value.get("fhirVersion", ())
    resources = _objects((node.value.get("definition") or {}).get("resource"))
    return all(one in releases for each in resources for one in each.get("fhirVersion", ()))


NATIVE_WHOLES: dict[str, Holds] = {
    "dom-2": _not_nested,
    "dom-3": _contained_is_used,
    "dom-4": _contained_meta("versionId", "lastUpdated"),
    "dom-5": _contained_meta("security"),
    "dom-6": _has_narrative,
    "obs-7": _value_is_no_component,
    "que-2": _each_link_once,
    "csd-1": _each_code_once,
    "bdl-7": _each_entry_once,
    "bdl-8": _names_no_version,
    "sdf-8": _below_first,
    "sdf-8a": _below_type,
    "ig-1": _groups_exist,
    "ig-2": _releases_agree,
}
