"""How many requests did a credential send in the window of now?

Windows are fixed. The counters are in memory and of this process; there is one a credential
and rate, and those whose window is over are swept out when there are many.
"""

import time
from collections.abc import Callable

from limits import RateLimitItem, parse_many
from limits.storage import Storage
from limits.strategies import FixedWindowRateLimiter

OFF = "off"
MANY = 4096

Clock = Callable[[], float]


class Counters(Storage):
    """What the library counts in; it needs no thread to forget."""

    STORAGE_SCHEME = None

    def __init__(self, clock: Clock = time.monotonic) -> None:
        super().__init__()
        self._clock = clock
        self._counted: dict[str, tuple[float, int]] = {}

    @property
    def base_exceptions(self) -> type[Exception]:
        return KeyError

    def incr(self, key: str, expiry: int, amount: int = 1) -> int:
        now = self._clock()
        ends, count = self._counted.get(key, (0.0, 0))
        if ends <= now:
            ends, count = now + expiry, 0
            if len(self._counted) >= MANY:
                self._sweep(now)
        self._counted[key] = (ends, count + amount)
        return count + amount

    def get(self, key: str) -> int:
        ends, count = self._counted.get(key, (0.0, 0))
        return count if ends > self._clock() else 0

    def get_expiry(self, key: str) -> float:
        """When the window of ``key`` ends, by the clock that was given."""
        return self._counted.get(key, (self._clock(), 0))[0]

    def check(self) -> bool:
        return True

    def reset(self) -> int:
        count = len(self._counted)
        self._counted.clear()
        return count

    def clear(self, key: str) -> None:
        self._counted.pop(key, None)

    def _sweep(self, now: float) -> None:
        self._counted = {key: held for key, held in self._counted.items() if held[0] > now}


class Rates:
    """The rates that every credential has, such as ``100/second;3000/minute``, or ``off``."""

    def __init__(self, rate: str, clock: Clock = time.monotonic) -> None:
        self._clock = clock
        self._items: list[RateLimitItem] = [] if rate == OFF else parse_many(rate)
        self._limiter = FixedWindowRateLimiter(Counters(clock))

    def wait_of(self, credential: str) -> float | None:
        """Counts a request; None where it may run, else the seconds until the window ends."""
        waits = [
            self._limiter.get_window_stats(item, credential).reset_time - self._clock()
            for item in self._items
            if not self._limiter.hit(item, credential)
        ]
        return max(waits, default=None)
