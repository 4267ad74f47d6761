"""How much of what is found is wanted, in which order, and in which form?"""

from collections.abc import Callable, Mapping
from typing import Any

from msgspec import Struct

from service.fhir.audit_parameters import SEARCHED
from service.fhir.base_facts import base_elements
from service.fhir.search_parameters import INCLUDES, REV_INCLUDES

DEFAULT_COUNT = 50
DEFAULT_OF: Mapping[str, int] = {"CarePlan": 20}
MOST = 200
MOST_OF: Mapping[str, int] = {"Observation": 500, "CarePlan": 50, "Provenance": 50}
"""A page never has more entries than this; a screen has some thirty Observations, and a
CarePlan weighs as much as fifty of them."""
TOTALS = ("none", "estimate", "accurate")
SUMMARIES = ("count", "true", "text", "data", "false")
LONGEST_CURSOR = 600
_LONGEST_COUNT = 9
CONTROLS = (
    "_count",
    "_sort",
    "_total",
    "_summary",
    "_elements",
    "_include",
    "_revinclude",
    "_cursor",
)
FORMS = ("_format", "_pretty")
"""They shape the answer alone, and are read where it is written."""


class Order(Struct, frozen=True):
    """By which parameter, and whether the newest comes first."""

    name: str
    newest_first: bool


class Control(Struct, frozen=True, kw_only=True):
    """``order`` None: as the search finds best. ``total`` None: where it is cheap."""

    count: int
    only_count: bool = False
    order: Order | None = None
    total: str | None = None
    summary: str = "false"
    elements: tuple[str, ...] = ()
    includes: tuple[str, ...] = ()
    rev_includes: tuple[str, ...] = ()
    cursor: str | None = None


class Unfit(ValueError):
    """A value that a parameter cannot have; the text says what it may be."""


def most_of(kind: str) -> int:
    return MOST_OF.get(kind, MOST)


def control_of(kind: str, said: Mapping[str, tuple[str, ...]], refuse: "Refuse") -> Control:
    """``said``: the values of each control parameter. What cannot be is told to ``refuse``."""
    found: dict[str, Any] = {"count": DEFAULT_OF.get(kind, DEFAULT_COUNT)}
    for name, values in said.items():
        if len(values) > 1 and name not in ("_include", "_revinclude"):
            refuse(name, "Say it once.")
            continue
        try:
            found |= _READ[name](kind, values)
        except Unfit as unfit:
            refuse(name, str(unfit))
    if found["count"] == 0 or found.get("summary") == "count":
        found |= {"only_count": True}
    return Control(**found)


Refuse = Callable[[str, str], None]
"""Takes the name of a parameter and what it may be."""


def _count(kind: str, values: tuple[str, ...]) -> dict[str, Any]:
    (text,) = values
    if not text.isascii() or not text.isdigit() or len(text) > _LONGEST_COUNT:
        raise Unfit("A whole number; 0 asks for the total alone.")
    return {"count": min(int(text), most_of(kind))}


def _sort(kind: str, values: tuple[str, ...]) -> dict[str, Any]:
    (text,) = values
    name = text.removeprefix("-")
    listed = SEARCHED[kind].get(name)
    if listed is None or not listed.order:
        names = [one for one, parameter in SEARCHED[kind].items() if parameter.order]
        known = ", ".join(f"{one}, -{one}" for one in names) or "none for this type"
        raise Unfit(f"One of: {known}.")
    return {"order": Order(name, text.startswith("-"))}


def _total(_: str, values: tuple[str, ...]) -> dict[str, Any]:
    return {"total": _one_of(values[0], TOTALS)}


def _summary(_: str, values: tuple[str, ...]) -> dict[str, Any]:
    return {"summary": _one_of(values[0], SUMMARIES)}


def _elements(kind: str, values: tuple[str, ...]) -> dict[str, Any]:
    known = elements_of(kind)
    names = tuple(name.strip().removeprefix(f"{kind}.") for name in values[0].split(","))
    if not set(names) <= known:
        raise Unfit(f"Elements of {kind} at its top, parted by commas.")
    return {"elements": names}


def _include(kind: str, values: tuple[str, ...]) -> dict[str, Any]:
    return {"includes": _listed(values, INCLUDES.get(kind, ()), ":Patient")}


def _rev_include(kind: str, values: tuple[str, ...]) -> dict[str, Any]:
    return {"rev_includes": _listed(values, REV_INCLUDES.get(kind, ()), f":{kind}")}


def _cursor(_: str, values: tuple[str, ...]) -> dict[str, Any]:
    if not 1 <= len(values[0]) <= LONGEST_CURSOR:
        raise Unfit("Take the address of the next page from its link, unchanged.")
    return {"cursor": values[0]}


def _listed(values: tuple[str, ...], known: tuple[str, ...], target: str) -> tuple[str, ...]:
    found = tuple(dict.fromkeys(value.removesuffix(target) for value in values))
    if not set(found) <= set(known):
        raise Unfit(f"One of: {', '.join(known) or 'none for this type'}.")
    return found


def _one_of(text: str, known: tuple[str, ...]) -> str:
    if text not in known:
        raise Unfit(f"One of: {', '.join(known)}.")
    return text


def elements_of(kind: str) -> frozenset[str]:
    """The elements at the top of a resource type; a choice under its stem."""
    return frozenset(
        fact.path.split(".")[1].removesuffix("[x]")
        for fact in base_elements(kind)
        if fact.path.count(".") == 1
    )


_READ: Mapping[str, Callable[[str, tuple[str, ...]], dict[str, Any]]] = {
    "_count": _count,
    "_sort": _sort,
    "_total": _total,
    "_summary": _summary,
    "_elements": _elements,
    "_include": _include,
    "_revinclude": _rev_include,
    "_cursor": _cursor,
}
