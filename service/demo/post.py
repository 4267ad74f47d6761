"""What does the service answer to a sample, over HTTP, native and as FHIR?"""

import re
from collections.abc import Iterable, Iterator
from http.client import HTTPConnection

import msgspec
from msgspec import Struct

from service.clock import now
from service.demo.scenario import Sample
from service.demo.served import HOST, Place
from service.demo.shift import Shift
from service.domain.record import Answer

TIMEOUT_SECONDS = 30
FHIR_TYPE = "application/fhir+json"
_ID = re.compile(r"\b[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}\b")
_BASE = re.compile(rf"http://{re.escape(HOST)}:\d+(?=/fhir)")
SHOWN_BASE = "http://127.0.0.1:8741"


class Refusal(Exception):
    """The service did not take a sample."""


class Posted(Struct, frozen=True):
    """The answer as it came, and both its forms as ``samples/`` keeps them."""

    sample: Sample
    answer: Answer
    native: str
    fhir: str


class Ids:
    """Names each id by the sample that saw it first and its place there, in the shape of an id,
    so that which one refers to which still shows."""

    def __init__(self) -> None:
        self._names: dict[str, str] = {}
        self._seen: dict[int, int] = {}

    def plain(self, number: int, text: str) -> str:
        return _ID.sub(lambda found: self._name(number, found[0]), text)

    def _name(self, number: int, id: str) -> str:
        if id not in self._names:
            place = self._seen[number] = self._seen.get(number, 0) + 1
            self._names[id] = f"00000000-0000-4000-8000-{number:06d}{place:06d}"
        return self._names[id]


def post_all(place: Place, samples: Iterable[Sample]) -> Iterator[Posted]:
    """Post each sample as of today, in the order of their numbers."""
    ordered = tuple(samples)
    shift, ids = Shift(ordered, now()), Ids()
    for sample in ordered:
        body = shift.today(sample)
        begun = now()
        native = _post(place, sample, body, "application/json")
        fhir = _post(place, sample, body, FHIR_TYPE)
        ended = now()
        kept = [
            ids.plain(sample.number, shift.then(sample, _laid_out(one), begun, ended))
            for one in (native, fhir)
        ]
        yield Posted(sample, msgspec.json.decode(native, type=Answer), kept[0], kept[1])


def _post(place: Place, sample: Sample, body: str, accept: str) -> bytes:
    """The same key both times: the second answer is the first one's screen in the other form."""
    connection = HTTPConnection(HOST, place.port, timeout=TIMEOUT_SECONDS)
    headers = {
        "Authorization": f"Bearer {place.key}",
        "Content-Type": "application/json",
        "Accept": accept,
        "Idempotency-Key": f"sample-{sample.name}",
    }
    try:
        connection.request("POST", "/v1/screens", body.encode(), headers)
        response = connection.getresponse()
        said = response.read()
    finally:
        connection.close()
    if response.status != 201:
        raise Refusal(f"{sample.name}: {response.status} {said.decode()}")
    return said


def _laid_out(body: bytes) -> str:
    """Every token kept as it was sent, one to a line, so that a difference can be read."""
    return _BASE.sub(SHOWN_BASE, msgspec.json.format(body, indent=2).decode()) + "\n"
