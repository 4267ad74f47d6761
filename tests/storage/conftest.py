"""Which store do the tests of this room share? Each test runs on both."""

from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import pytest

from service.storage.place import Place
from tests.storage.made import House, open_house
from tests.storage.servers import database


@pytest.fixture(params=["sqlite", "postgres"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Place]:
    if request.param == "sqlite":
        yield tmp_path / "record.db"
        return
    with database() as server:
        yield server


@pytest.fixture
async def house(place: Place) -> AsyncIterator[House]:
    opened = await open_house(place)
    yield opened
    await opened.store.close()
