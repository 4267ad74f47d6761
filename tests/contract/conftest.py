"""Against which running server is the document held?"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.system.server import Server, serving


def pytest_itemcollected(item: pytest.Item) -> None:
    """The fuzzer names each operation in the name of its test and leaves it out of the id, by
    which several workers tell tests apart: they would run one operation of them all."""
    if not item.nodeid.endswith(item.name) and item.parent is not None:
        item._id = item.parent.id.child(item.name)


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    folder: Path = tmp_path_factory.mktemp("contract")
    with serving(folder / "contract.db") as one:
        yield one
