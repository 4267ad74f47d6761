"""Which screens does the scenario hold, and where do they lie?"""

from datetime import datetime
from pathlib import Path

import msgspec
from msgspec import Struct

import service
from service.domain.screen import Screen

REQUEST = "request.json"
NATIVE = "answer.json"
FHIR = "answer.fhir.json"


class NoScenario(Exception):
    """The samples are not where they should be, or are not what they should be."""


class Sample(Struct, frozen=True):
    """One screen of the scenario. ``number`` and ``claim`` are what its folder is named for."""

    folder: Path
    number: int
    claim: str
    request: str
    screen: Screen

    @property
    def name(self) -> str:
        return self.folder.name

    @property
    def observed_at(self) -> datetime:
        return self.screen.observed_at


def here() -> Path:
    """The samples of this installation: in a wheel inside the package, in a checkout beside it."""
    package = Path(service.__file__).resolve().parent
    inside = package / "samples"
    return inside if inside.is_dir() else package.parent / "samples"


def read(folder: Path) -> tuple[Sample, ...]:
    """Every sample below ``folder``, by number. Raises NoScenario."""
    found = tuple(_sample(path.parent) for path in sorted(folder.glob(f"*/{REQUEST}")))
    if not found:
        raise NoScenario(f"There are no samples in {folder}.")
    return found


def _sample(folder: Path) -> Sample:
    number, _, claim = folder.name.partition("_")
    text = (folder / REQUEST).read_text(encoding="utf-8")
    try:
        screen = msgspec.json.decode(text, type=Screen)
        return Sample(folder, int(number), claim.replace("_", " "), text, screen)
    except ValueError as error:
        raise NoScenario(f"{folder / REQUEST}: {error}") from error
