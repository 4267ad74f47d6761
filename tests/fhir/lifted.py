"""How are items within items looked at by a validator that only looks at the outermost?

By the standard an item within an item is what an outermost one is, so each is lifted out to the
top, with stubs where its own items were. A few at a time, because the validator takes longer
with every item that stands beside another.
"""

from collections.abc import Iterator
from typing import Any

Document = dict[str, Any]
AT_ONCE = 10
STUBS: dict[str, Document] = {
    "Questionnaire": {"linkId": "stub", "type": "display"},
    "QuestionnaireResponse": {"linkId": "stub"},
}


def parts(resource: Document) -> list[Document]:
    """``resource`` as it is and, where it has items, copies of it with every item at the top."""
    stub = STUBS.get(resource["resourceType"])
    if stub is None or not isinstance(resource.get("item"), list):
        return [resource]
    items = [one for item in resource["item"] for one in _each(item, stub)]
    few = [items[at : at + AT_ONCE] for at in range(0, len(items), AT_ONCE)]
    return [resource, *[{**resource, "item": some} for some in few]]


def _each(item: Document, stub: Document) -> Iterator[Document]:
    inside = item.get("item")
    if isinstance(inside, list):
        yield {**item, "item": [stub for _ in inside]}
        for one in inside:
            yield from _each(one, stub)
    else:
        yield item
