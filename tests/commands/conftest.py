"""Which record do the commands of these tests work on? Each on a file, and on a server."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from service.storage.place import Place
from tests.commands.record import Record
from tests.storage.servers import database


@pytest.fixture(params=["a file", "a server"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Place]:
    if request.param == "a file":
        yield tmp_path / "record.db"
        return
    with database() as server:
        yield server


@pytest.fixture
def record(
    place: Place, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Record:
    return Record(place, capsys, monkeypatch)
