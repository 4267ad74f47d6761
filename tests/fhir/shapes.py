"""Which part of a resource has a shape that no resource before it had?

A validator's verdict on an element hangs on the names below it, on the form of their values and on
the codes among them; whether a text says "left" or "right" it cannot tell. So of thousands of
resources only what is new in this sense needs to be looked at by a slow validator.

The shape of an element is its children and theirs: which there are, of which form, and which codes
stand there. The invariants of the standard on what answers a screen look no deeper, but for two
kinds. Some compare values (a period's ends, a range's ends, a component's code); some read a
narrative. Our own checks look at those in every resource. And members of items and activities
are compared by none.
"""

import re
from collections.abc import Hashable
from functools import cache
from typing import Any

# What a binding or an invariant reads by its value. Everything else counts by its form.
_EXACT = frozenset(
    {
        "resourceType", "status", "system", "code", "url", "use", "intent", "type", "kind", "mode",
        "severity", "method", "fhirVersion", "format", "relation", "relationship", "equivalence",
        "comparator", "gender", "contentType", "questionnaire", "profile", "unit",
    }
)  # fmt: skip
# Where an address is one of many, and not the name of something.
_PAGES = ("Bundle.link", "Bundle.entry.request", "CapabilityStatement.implementation")
# Lists whose members no invariant compares: what was seen may be left out of them.
_LOOSE = frozenset({"item", "activity"})
_FORMS = (
    ("day", re.compile(r"\d{4}(-\d\d(-\d\d)?)?")),
    ("moment", re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")),
    ("reference", re.compile(r"[A-Z][A-Za-z]+/[A-Za-z0-9.-]{1,64}(/_history/[A-Za-z0-9.-]+)?")),
    ("address", re.compile(r"(https?://|urn:(uuid|oid):)\S+")),
    ("id", re.compile(r"[A-Za-z0-9.-]{1,64}")),
    ("text", re.compile(r"[^\s](.*[^\s])?", re.DOTALL)),
)
_Looked = tuple[Any, bool, Hashable]


class Shapes:
    """The shapes seen so far, on top of those ``known`` before."""

    def __init__(self, known: "Shapes | None" = None) -> None:
        self._known: frozenset[Hashable] = frozenset(known._seen if known else ())
        self._seen: set[Hashable] = set()

    def unseen(self, resource: dict[str, Any]) -> dict[str, Any] | None:
        """``resource`` with what is new in it, or None where nothing is.

        Members of items and activities with nothing new in them are left out: a fault in one
        was to be found where its shape was first seen.
        """
        kept, new, _ = self._element(str(resource["resourceType"]), resource)
        return kept if new else None

    def _element(self, path: str, value: dict[str, Any]) -> _Looked:
        """``value`` without what was seen, whether anything was new, and how its parent sees it."""
        exact = _EXACT - {"url"} if path in _PAGES else _EXACT
        kept: dict[str, Any] = {}
        shape: list[Hashable] = []
        outline: list[Hashable] = []
        fresh = False
        for name, inner in value.items():
            kept[name] = inner
            if isinstance(inner, str):
                form = _form(inner)
                shape.append((name, inner if name in exact else form))
                outline.append((name, form))
                continue
            outline.append((name, type(inner)))
            seen: Hashable = inner == 0
            if isinstance(inner, dict):
                kept[name], new, seen = self._element(f"{path}.{name}", inner)
                fresh = fresh or new
            elif isinstance(inner, list):
                kept[name], new, seen = self._list(f"{path}.{name}", inner)
                fresh = fresh or new
            shape.append((name, type(inner), seen))
        unit = path, frozenset(shape)
        if unit not in self._seen and unit not in self._known:
            self._seen.add(unit)
            fresh = True
        return kept, fresh, frozenset(outline)

    def _list(self, path: str, value: list[Any]) -> _Looked:
        name = path.rpartition(".")[2]
        kept: list[Any] = []
        seen: set[Hashable] = set()
        fresh = False
        for one in value:
            if not isinstance(one, dict):
                kept.append(one)
                exact = name in _EXACT or not isinstance(one, str)
                seen.add(str(one) if exact else _form(one))
                continue
            looked, new, outline = self._element(path, one)
            fresh = fresh or new
            seen.add(outline)
            if new or name not in _LOOSE:
                kept.append(looked)
        many = len(value) > 1
        return kept or value[:1], fresh, many if name in _LOOSE else (many, frozenset(seen))


@cache
def _form(value: str) -> str:
    return next((name for name, form in _FORMS if form.fullmatch(value)), "other")
