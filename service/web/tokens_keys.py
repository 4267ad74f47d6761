"""With which keys does an issuer sign now, though it changes them and is at times out of reach?

A set is read anew every five minutes, beside the requests, and at once for a key id that is not
in it, though not more often than every ten seconds. A set that cannot be read anew is held on to
for four hours: that long a key which the issuer took back might still be taken here.
"""

import asyncio
import logging
import time
from collections.abc import Awaitable, Callable

from service.domain.problem import Unavailable
from service.web.tokens_issuers import Issuer
from service.web.tokens_jwks import BadKeys, Keys, PublicKey

FRESH_SECONDS = 300.0
PAUSE_SECONDS = 10.0
HELD_SECONDS = 4 * 3600.0

_log = logging.getLogger("stanchion.security")

Fetch = Callable[[Issuer], Awaitable[Keys]]


class IssuerKeys:
    """The keys of one issuer."""

    def __init__(
        self, issuer: Issuer, fetch: Fetch, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self.issuer = issuer
        self._fetch = fetch
        self._clock = clock
        self._keys: Keys = {}
        self._read_at: float | None = None
        self._tried_at: float | None = None
        self._fault = ""
        self._reading: asyncio.Task[None] | None = None

    async def of(self, key_id: str) -> tuple[PublicKey, ...]:
        """The keys of this id; none where the issuer has none. Raises Unavailable where that
        cannot be known now."""
        if not self._held() or key_id not in self._keys:
            await self._read_now()
            if not self._held() or (self._fault and key_id not in self._keys):
                raise Unavailable(
                    "The keys of the token's issuer cannot be read now: try again soon.",
                    int(PAUSE_SECONDS),
                )
        elif self._age() >= FRESH_SECONDS:
            self._begin()
        return self._keys.get(key_id, ())

    def look(self) -> str:
        """What is wrong with the keys, or nothing; begins to read them where they are not fresh."""
        if not self._held() or self._age() >= FRESH_SECONDS:
            self._begin()
        if not self._held():
            return f"no keys to check tokens with: {self._fault or 'not read yet.'}"
        if self._fault:
            return f"keys of {int(self._age() / 60)} minutes ago are held on to: {self._fault}"
        return ""

    def _held(self) -> bool:
        return self._read_at is not None and self._age() < HELD_SECONDS

    def _age(self) -> float:
        return self._clock() - (self._read_at or 0.0)

    async def _read_now(self) -> None:
        """Waits for the reading; one that is under way already is enough."""
        reading = self._begin()
        if reading is not None:
            await asyncio.shield(reading)

    def _begin(self) -> "asyncio.Task[None] | None":
        if self._reading is not None and not self._reading.done():
            return self._reading
        now = self._clock()
        if self._tried_at is not None and now - self._tried_at < PAUSE_SECONDS:
            return None
        self._tried_at = now
        self._reading = asyncio.get_running_loop().create_task(self._read())
        return self._reading

    async def _read(self) -> None:
        try:
            self._keys = await self._fetch(self.issuer)
        except BadKeys as fault:
            if not self._fault:
                _log.error("the keys of %s cannot be read: %s", self.issuer.issuer, fault)
            self._fault = str(fault)
            return
        if self._fault:
            _log.warning("the keys of %s can be read again", self.issuer.issuer)
        self._fault = ""
        self._read_at = self._clock()
