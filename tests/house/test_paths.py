"""Is a document found that points to what is not there?"""

from tests.house.conftest import Grow
from tests.house.paths import faults
from tests.house.tree import ROOT


def test_documents_point_to_what_is_there() -> None:
    assert faults(ROOT) == []


def test_links_and_paths_that_lead_nowhere_are_found(grow: Grow) -> None:
    root = grow(
        {
            "docs/a.md": (
                "[b](b.md) [c](../c.md) [web](https://example.org) `service/x.py` `service/y.py`"
                " `and/or` `docs/`"
            ),
            "docs/b.md": "",
            "service/x.py": "",
        }
    )
    assert faults(root) == [
        "docs/a.md: service/y.py is not there",
        "docs/a.md: the link to ../c.md leads nowhere",
    ]
