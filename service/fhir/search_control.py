"""How much of what is found is wanted, in which order, and in which form?"""

from collections.abc import Callable, Mapping
from typing import Any

from msgspec import Struct

from service.fhir.audit_parameters import AUDIT_EVENT, SEARCHED
from service.fhir.base_facts import base_elements
from service.fhir.search_parameters import INCLUDES, REV_INCLUDES

DEFAULT_COUNT = 50
DEFAULT_OF: Mapping[str, int] = {"CarePlan": 20}
MOST = 200
MOST_OF: Mapping[str, int] = {"Observation": 500, "CarePlan": 50, "Provenance": 50}
"""A page never has more entries than this; a screen has some thirty Observations, and a
CarePlan weighs as much as fifty of them."""
BY_ID = ("Patient", "Goal", "Flag", "Task", "Device")
"""They stand in the order of their ids."""
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
ITERATED = {f"{one}:iterate": one for one in ("_include", "_revinclude")}
"""What is brought along refers to nothing more that could be, so that once is as good."""
FORMS = ("_format", "_pretty")
"""They shape the answer alone, and are read where it is written."""


class Order(Struct, frozen=True):
    """By which parameter, and whether the newest comes first."""

    name: str
    newest_first: bool


class Control(Struct, frozen=True, kw_only=True):
    """``orders``: the first counts most; none: as the search finds best. ``total`` None: where
    it is cheap."""

    count: int
    only_count: bool = False
    orders: tuple[Order, ...] = ()
    total: str | None = None
    summary: str = "false"
    elements: tuple[str, ...] = ()
    includes: tuple[str, ...] = ()
    rev_includes: tuple[str, ...] = ()
    cursor: str | None = None

    @property
    def order(self) -> Order | None:
        """What everything is sorted by, before anything else."""
        return self.orders[0] if self.orders else None


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
    if found.get("summary") == "text" and (found.get("includes") or found.get("rev_includes")):
        refuse("_summary", "Not text where something is to be brought along.")
    return Control(**found)


Refuse = Callable[[str, str], None]
"""Takes the name of a parameter and what it may be."""


def _count(kind: str, values: tuple[str, ...]) -> dict[str, Any]:
    (text,) = values
    if not text.isascii() or not text.isdigit() or len(text) > _LONGEST_COUNT:
        raise Unfit("A whole number; 0 asks for the total alone.")
    return {"count": min(int(text), most_of(kind))}


def _sort(kind: str, values: tuple[str, ...]) -> dict[str, Any]:
    orders = tuple(
        [Order(one.removeprefix("-"), one.startswith("-")) for one in values[0].split(",")]
    )
    first, later = _first_keys(kind), _later_keys(kind)
    names = [one.name for one in orders]
    signed = ("-" if orders[0].newest_first else "") + names[0]
    if signed not in first or not set(names[1:]) <= set(later):
        more = f", and behind commas also: {', '.join(later)}" if later else ""
        raise Unfit(f"One of: {', '.join(first) or 'none for this type'}{more}.")
    if len(set(names)) < len(names):
        raise Unfit("Each key once.")
    return {"orders": orders}


def _first_keys(kind: str) -> list[str]:
    keys = [name for name, listed in SEARCHED[kind].items() if listed.order]
    return [*keys, *[f"-{one}" for one in keys]] + (["_id"] if kind in BY_ID else [])


def _later_keys(kind: str) -> list[str]:
    """By what those are sorted that the first key leaves equal. Entries of the trail stand in
    their own order there, and no two have one id."""
    keys = [name for name, listed in SEARCHED[kind].items() if listed.order]
    return [] if kind == AUDIT_EVENT or not keys else [*keys, "_id"]


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
    """``*`` in the place of a parameter, or alone, stands for each that is known."""
    every = {"*", *[f"{one.partition(':')[0]}:*" for one in known]} if known else set()
    found: list[str] = []
    for value in values:
        plain = value.removesuffix(target)
        found += known if plain in every else [plain]
    if not set(found) <= set(known):
        raise Unfit(f"One of: {', '.join(known) or 'none for this type'}.")
    return tuple(dict.fromkeys(found))


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
