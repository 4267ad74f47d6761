"""How are items within items looked at by a validator that only looks at the outermost?

By the standard an item within an item is what an outermost one is, so each is lifted out to the
top, with stubs where its own items were.
"""

from collections.abc import Iterator
from typing import Any

Document = dict[str, Any]
STUBS: dict[str, Document] = {
    "Questionnaire": {"linkId": "stub", "type": "display"},
    "QuestionnaireResponse": {"linkId": "stub"},
}


def lifted(resource: Document) -> Document:
    """``resource`` with every item at the top; any other resource as it is."""
    stub = STUBS.get(resource["resourceType"])
    if stub is None or "item" not in resource:
        return resource
    return {**resource, "item": [one for item in resource["item"] for one in _each(item, stub)]}


def _each(item: Document, stub: Document) -> Iterator[Document]:
    inside = item.get("item")
    if isinstance(inside, list):
        yield {**item, "item": [stub for _ in inside]}
        for one in inside:
            yield from _each(one, stub)
    else:
        yield item
