"""Which codes does an official value set hold, as far as its definition lists them?"""

from typing import Any

Definitions = dict[str, dict[str, Any]]
# System → its codes.
Codes = dict[str, set[str]]


def codes_of(found: Definitions, url: str) -> Codes | None:
    """None where the set, or a part of it, is not a list: a filter, a grammar, another's system."""
    value_set = found.get(url)
    if value_set is None or "compose" not in value_set:
        return None
    held: Codes = {}
    for part in value_set["compose"]["include"]:
        codes = _included(found, part)
        if codes is None:
            return None
        for system, listed in codes.items():
            held.setdefault(system, set()).update(listed)
    for part in value_set["compose"].get("exclude", ()):
        for system, listed in (_included(found, part) or {}).items():
            held.get(system, set()).difference_update(listed)
    return held


def _included(found: Definitions, part: dict[str, Any]) -> Codes | None:
    if "filter" in part:
        return None
    if "system" not in part:
        return _of_sets(found, part["valueSet"])
    system = part["system"]
    if "concept" in part:
        return {system: {each["code"] for each in part["concept"]}}
    known = found.get(system)
    if known is None or known["content"] != "complete":
        return None
    return {system: set(_codes(known.get("concept", ())))}


def _of_sets(found: Definitions, urls: list[str]) -> Codes | None:
    """All of them together; only one is ever named in the sets this is used for."""
    if len(urls) != 1:
        return None
    return codes_of(found, urls[0].partition("|")[0])


def _codes(concepts: Any) -> list[str]:
    return [code for each in concepts for code in (each["code"], *_codes(each.get("concept", ())))]
