"""Which store do the tests of this room share?"""

from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from tests.storage.made import House, open_house


@pytest.fixture
async def house(tmp_path: Path) -> AsyncIterator[House]:
    opened = await open_house(tmp_path / "record.db")
    yield opened
    await opened.store.close()
