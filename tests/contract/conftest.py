"""Against which running server is the document held?"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.system.server import Server, serving


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    folder: Path = tmp_path_factory.mktemp("contract")
    with serving(folder / "contract.db") as one:
        yield one
