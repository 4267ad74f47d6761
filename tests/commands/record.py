"""How does a test fill a record, and say a command on it?"""

import asyncio

import pytest

from service.__main__ import main
from service.commands import DONE
from service.storage.place import Place
from tests.storage.made import HOSPITAL, open_house
from tests.system.server import environment


class Record:
    """``org`` and ``patients`` are there once it is filled; patients by their number outside."""

    def __init__(
        self,
        place: Place,
        capsys: pytest.CaptureFixture[str],
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        self.place = place
        self.org = ""
        self.patients: dict[str, str] = {}
        self._capsys = capsys
        self._monkeypatch = monkeypatch

    def filled(self, *screens: tuple[str, int]) -> "Record":
        """With a screen of each of these patients, so many minutes after the morning."""
        asyncio.run(self._fill(screens))
        return self

    async def _fill(self, screens: tuple[tuple[str, int], ...]) -> None:
        house = await open_house(self.place)
        self.org = house.by.org
        for value, at in screens:
            house.clock.go_on(minutes=at)
            await house.store.keep(house.new(value, at))
        for value in {value for value, _ in screens}:
            found = await house.store.find_patient(self.org, HOSPITAL, value)
            assert found is not None
            self.patients[value] = found.id
        await house.store.close()

    def __call__(self, *words: str, place: Place | None = None) -> tuple[int, str, str]:
        """Code, what was printed, and what went to standard error."""
        for name, value in environment(place or self.place).items():
            if name.startswith("STANCHION_"):
                self._monkeypatch.setenv(name, value)
        try:
            code = main(words)
        finally:
            for name in ("DATABASE", "POSTGRES", "POSTGRES_READ"):
                self._monkeypatch.delenv(f"STANCHION_{name}", raising=False)
        told = self._capsys.readouterr()
        return code, told.out, told.err

    def done(self, *words: str, place: Place | None = None) -> str:
        code, out, err = self(*words, place=place)
        assert (code, err) == (DONE, "")
        return out
