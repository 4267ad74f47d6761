"""What do several wards get that write all the time, and ask again until they are answered?"""

import json
import random
import threading
import time
from collections import Counter
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

import httpx
from msgspec import Struct, field

from tests.house.tree import ROOT

BODY: dict[str, Any] = json.loads(
    (ROOT / "samples" / "05_new_hip_rises_on_a_stand_aid" / "request.json").read_bytes()
)
PATIENTS = 40
CALM_S = 0.3
LONGEST_WAIT_S = 1.0
READ_ONE_IN = 4
_SYSTEM = "urn:oid:2.999.7"


class Answered(Struct, frozen=True):
    """A 201: what was sent with which key of whom, and what came back at what moment."""

    api_key: str
    key: str
    body: bytes
    path: str
    etag: str
    content: bytes
    at: float
    tries: int


class Told(Struct):
    """What the clients met. ``gave_up``: answers that no retry mends, by status and text."""

    answered: list[Answered] = field(default_factory=list)
    met: Counter[str] = field(default_factory=Counter)
    read: Counter[str] = field(default_factory=Counter)
    gave_up: list[str] = field(default_factory=list)
    no_hint: int = 0


class Wards:
    """Clients, each a thread with a connection of its own, until they are told to stop.

    ``hurry``: no pause between two writes.
    """

    def __init__(self, base: str, keys: list[str], count: int) -> None:
        self.told = Told()
        self.hurry = False
        self._base = base
        self._over = threading.Event()
        self._lock = threading.Lock()
        self._threads = [
            threading.Thread(target=self._work, args=(keys[number % len(keys)], number))
            for number in range(count)
        ]

    def start(self) -> None:
        for thread in self._threads:
            thread.start()

    def stop(self) -> None:
        """Each goes on until its last write is answered."""
        self._over.set()
        for thread in self._threads:
            thread.join()

    def answered_after(self, moment: float) -> list[float]:
        """When each 201 after ``moment`` came, in order."""
        with self._lock:
            return sorted(each.at for each in self.told.answered if each.at >= moment)

    def _work(self, api_key: str, number: int) -> None:
        chance = random.Random(number)  # noqa: S311 - whom a ward sees next
        headers = {"Authorization": f"Bearer {api_key}", "Content-Type": "application/json"}
        with httpx.Client(base_url=self._base, headers=headers, timeout=90) as client:
            while not self._over.is_set():
                body = _screen(f"P-{chance.randrange(PATIENTS)}")
                done = self._until_answered(client, api_key, uuid4().hex, body)
                if done is not None and chance.randrange(READ_ONE_IN) == 0:
                    self._read(client, done)
                if not self.hurry:
                    self._over.wait(CALM_S)

    def _until_answered(
        self, client: httpx.Client, api_key: str, key: str, body: bytes
    ) -> Answered | None:
        tries = 0
        while True:
            tries += 1
            answer = self._post(client, key, body)
            if answer is None:
                time.sleep(0.1)
                continue
            if answer.status_code == 201:
                where = httpx.URL(answer.headers["location"]).path
                etag, content = answer.headers["etag"], answer.content
                at = time.monotonic()
                done = Answered(api_key, key, body, where, etag, content, at, tries)
                with self._lock:
                    self.told.answered.append(done)
                return done
            if answer.status_code not in (429, 503, 504, 409):
                with self._lock:
                    self.told.gave_up.append(f"{answer.status_code} {answer.text[:300]}")
                return None
            time.sleep(self._hint(answer))

    def _post(self, client: httpx.Client, key: str, body: bytes) -> httpx.Response | None:
        try:
            answer = client.post("/v1/screens", content=body, headers={"Idempotency-Key": key})
        except httpx.TransportError as error:
            self._count(type(error).__name__)
            return None
        replayed = " replayed" if "idempotency-replayed" in answer.headers else ""
        self._count(f"{answer.status_code}{replayed}")
        return answer

    def _hint(self, answer: httpx.Response) -> float:
        hint = answer.headers.get("retry-after")
        if answer.status_code == 503 and hint is None:
            self.told.no_hint += 1
        return min(float(hint or 1), LONGEST_WAIT_S)

    def _read(self, client: httpx.Client, done: Answered) -> None:
        """Who was answered reads it back at once: no answer, a 503, or the very screen."""
        try:
            answer = client.get(done.path)
        except httpx.TransportError as error:
            self.told.read[type(error).__name__] += 1
            return
        with self._lock:
            self.told.read[str(answer.status_code)] += 1
            if answer.status_code not in (200, 503, 504):
                self.told.gave_up.append(f"GET {done.path}: {answer.status_code}")

    def _count(self, what: str) -> None:
        with self._lock:
            self.told.met[what] += 1


def _screen(value: str) -> bytes:
    who = {"identifier": {"system": _SYSTEM, "value": value}}
    now = {"observed_at": datetime.now(UTC).isoformat()}
    return json.dumps(BODY | {"patient": BODY["patient"] | who} | now).encode()
