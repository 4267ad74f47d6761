"""Which running application does a test of the web get?"""

from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from tests.web.world import World, world


@pytest.fixture
async def running(tmp_path: Path) -> AsyncIterator[World]:
    async with world(tmp_path) as one:
        yield one
