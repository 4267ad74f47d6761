"""How are words planted that nobody else would write, and where are they found again?"""

import copy
import json
from collections.abc import Iterator
from importlib.resources import files
from itertools import count
from typing import Any

import httpx
from msgspec import Struct, field

# Where a screen may say what it likes; a system must look like a URI.
FREE = (
    "/patient/identifier/value",
    "/patient/more_identifiers/0/value",
    "/patient/name/family",
    "/patient/name/given",
    "/assessor/identifier/value",
    "/encounter/value",
    "/location",
    "/source_id",
    "/context/devices/0/label",
)
SYSTEMS = (
    "/patient/identifier/system",
    "/patient/more_identifiers/0/system",
    "/assessor/identifier/system",
    "/encounter/system",
)


_NUMBERS = count()


class Markers(Struct):
    """Every planted word, by what it was planted in."""

    planted: dict[str, str] = field(default_factory=dict)

    def new(self, place: str) -> str:
        word = f"zq{next(_NUMBERS):04d}kx"
        self.planted[word] = place
        return word

    def found_in(self, text: str) -> list[str]:
        """The places whose words stand in ``text``."""
        return [place for word, place in self.planted.items() if word in text]


def example() -> dict[str, Any]:
    """The screen of the document, which has every field."""
    told = json.loads((files("service.web") / "examples.json").read_text(encoding="utf-8"))
    screen: dict[str, Any] = told["screen"]["standing_ward_patient"]["value"]
    return screen


def marked(markers: Markers) -> dict[str, Any]:
    """The screen with a word of its own in each place that is free."""
    screen = example()
    for path in FREE:
        screen = planted(screen, path, markers.new(path))
    for path in SYSTEMS:
        screen = planted(screen, path, f"urn:x-{markers.new(path)}")
    return screen


def planted(screen: dict[str, Any], path: str, word: str) -> dict[str, Any]:
    """A copy of ``screen`` with ``word`` at ``path``."""
    changed = copy.deepcopy(screen)
    *way, last = path.strip("/").split("/")
    part: Any = changed
    for step in way:
        part = part[int(step)] if isinstance(part, list) else part[step]
    part[int(last) if isinstance(part, list) else last] = word
    return changed


def texts_in(part: Any, path: str = "") -> Iterator[str]:
    """The path of each text."""
    if isinstance(part, str):
        yield path
    elif isinstance(part, dict):
        for name, inner in part.items():
            yield from texts_in(inner, f"{path}/{name}")
    elif isinstance(part, list):
        for index, inner in enumerate(part):
            yield from texts_in(inner, f"{path}/{index}")


class Said:
    """Everything that got out and may hold nothing of a person."""

    def __init__(self) -> None:
        self.markers = Markers()
        self.texts: list[tuple[str, str]] = []

    def add(self, response: httpx.Response) -> None:
        """A problem's whole text; of a good answer the headers and the addresses."""
        what = f"{response.request.method} {response.status_code}"
        self.texts.append((f"headers of {what}", str(response.headers.raw)))
        kind = response.headers.get("content-type", "")
        if response.status_code >= 400:
            self.texts.append((f"problem of {what}", response.text))
        elif "json" in kind:
            for link in links_in(response.json()):
                self.texts.append((f"link of {what}", link))


def links_in(part: Any) -> Iterator[str]:
    if isinstance(part, dict):
        for name, inner in part.items():
            if name in ("next", "url", "fullUrl", "reference") and isinstance(inner, str):
                yield inner
            yield from links_in(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from links_in(inner)
