"""Which database do the tests of this room get? One on a real server."""

from collections.abc import AsyncIterator, Iterator

import pytest

from service.storage.place import Server
from tests.storage.made import House, open_house
from tests.storage.servers import database


@pytest.fixture
def server() -> Iterator[Server]:
    with database() as made:
        yield made


@pytest.fixture
async def house(server: Server) -> AsyncIterator[House]:
    opened = await open_house(server)
    yield opened
    await opened.store.close()
