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

    def _value(self, path: str, name: str, value: Any) -> _Looked:
        """``value`` without what was seen, whether anything was new, and its shape."""
        if isinstance(value, dict):
            return self._element(f"{path}.{name}", value)
        if isinstance(value, list):
            return self._list(path, name, value)
        if isinstance(value, str):
            return value, False, value if name in _EXACT else _form(value)
        return value, False, (type(value).__name__, value == 0)

    def _list(self, path: str, name: str, value: list[Any]) -> _Looked:
        looked = [self._value(path, name, one) for one in value]
        new = any(fresh for _, fresh, _ in looked)
        many = len(value) > 1
        if name in _LOOSE:
            kept = [one for one, fresh, _ in looked if fresh] or value[:1]
            return kept, new, many
        return [one for one, _, _ in looked], new, (many, frozenset(shape for *_, shape in looked))

    def _element(self, path: str, value: dict[str, Any]) -> _Looked:
        looked = {name: self._value(path, name, inner) for name, inner in value.items()}
        unit = path, frozenset((name, shape) for name, (_, _, shape) in looked.items())
        new = unit not in self._seen and unit not in self._known
        self._seen.add(unit)
        kept = {name: inner for name, (inner, _, _) in looked.items()}
        fresh = new or any(fresh for _, fresh, _ in looked.values())
        return kept, fresh, _outline(value)


def _outline(value: dict[str, Any]) -> Hashable:
    """An element as its parent sees it."""
    return frozenset(
        (name, _form(inner) if isinstance(inner, str) else type(inner).__name__)
        for name, inner in value.items()
    )


@cache
def _form(value: str) -> str:
    return next((name for name, form in _FORMS if form.fullmatch(value)), "other")
