"""How does whoever serves requests come to the server, and when does he give it up?

A server can be gone without a word, or be there and say nothing more. Who waits for it waits a
bounded time, and who comes soon after somebody found nobody there is told so at once.
"""

import threading
import time
from typing import Any

import psycopg

from service.storage.postgres.connection import settings_for

PATIENCE_S = 15.0
"""Every single answer is waited for so long at most; a lock is waited for less."""
REST_S = 0.5
"""After nobody was there."""

# The server ends what nobody waits for any more, and lets go what somebody who hangs holds.
_ORDERS = (
    "SELECT set_config('statement_timeout', '14s', false),"
    " set_config('idle_in_transaction_session_timeout', '14s', false)"
)


class Hasty(psycopg.Connection[tuple[Any, ...]]):
    """Closed once the server did not answer in time."""

    def wait(self, gen: Any, interval: float = 0.1, timeout: float | None = None) -> Any:
        try:
            return super().wait(gen, interval, PATIENCE_S if timeout is None else timeout)
        except psycopg.OperationalError as error:
            if error.sqlstate is None:
                # not the server's word: what it may still say answers nobody's question
                self.pgconn.finish()
            raise


class Door:
    """To one address, for all threads of a process."""

    def __init__(self, address: str) -> None:
        self._address = address
        self._lock = threading.Lock()
        self._closed_until = 0.0

    def connection(self) -> Hasty:
        """A new one. Raises psycopg.OperationalError."""
        with self._lock:
            if time.monotonic() < self._closed_until:
                raise psycopg.OperationalError("nobody was there a moment ago")
        try:
            return self._opened()
        except psycopg.OperationalError:
            with self._lock:
                self._closed_until = time.monotonic() + REST_S
            raise

    def _opened(self) -> Hasty:
        raw: Hasty = Hasty.connect(self._address, **settings_for(self._address))
        raw.execute(_ORDERS)
        return raw
