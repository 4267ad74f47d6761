"""How are ids made that sort by time and never run backwards?"""

import hashlib
import hmac
import secrets
from threading import Lock
from uuid import UUID

from service.application.ports import Clock

_COUNTER_BITS = 12
_COUNTER_LIMIT = 1 << _COUNTER_BITS
_TAIL_BITS = 62
_VARIANT = 0b10


class TimeOrderedIds:
    """Gives UUIDv7 text, each greater than the one before, whatever the clock does.

    Within one millisecond, and while the clock stands behind an earlier reading, a counter
    orders the ids; when it is used up the millisecond is borrowed from the future.
    """

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._last_ms = 0
        self._counter = 0
        self._lock = Lock()

    def __call__(self) -> str:
        with self._lock:  # a store on a server writes in a thread of its own
            return self._next()

    def _next(self) -> str:
        now_ms = int(self._clock().timestamp() * 1000)
        if now_ms > self._last_ms:
            self._last_ms, self._counter = now_ms, secrets.randbelow(_COUNTER_LIMIT // 2)
        else:
            self._counter += 1
        if self._counter == _COUNTER_LIMIT:
            self._last_ms, self._counter = self._last_ms + 1, 0
        high = self._last_ms << 16 | 7 << _COUNTER_BITS | self._counter
        return str(UUID(int=high << 64 | _VARIANT << _TAIL_BITS | secrets.randbits(_TAIL_BITS)))


def patient_id(patient_key: bytes, system: str, value: str) -> str:
    """The UUIDv8 of a new patient: the same for the same identifier, and tells nothing of it."""
    named = f"{len(system)}|{system}|{value}".encode()
    digest = hmac.digest(patient_key, named, hashlib.sha256)
    number = int.from_bytes(digest[:16])
    number = number & ~(0xF << 76) | 8 << 76
    return str(UUID(int=number & ~(0b11 << _TAIL_BITS) | _VARIANT << _TAIL_BITS))
