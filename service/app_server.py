"""How does the server end: not ready first, then no new request, then the running ones?"""

import asyncio
import signal
import socket
from types import FrameType

import uvicorn

from service.settings import Settings
from service.web.gate import Gate
from service.web.limits_wire import wire
from service.web.running import Phase

BACKLOG = 2048


class Ending(uvicorn.Server):
    """Once told to stop it is not ready; after ``drain_seconds`` it stops listening. Told twice,
    it stops at once."""

    def __init__(self, config: uvicorn.Config, phase: Phase, drain_seconds: float) -> None:
        super().__init__(config)
        self._phase = phase
        self._drain_seconds = drain_seconds
        self._loop: asyncio.AbstractEventLoop | None = None

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        self._loop = asyncio.get_running_loop()
        await super().startup(sockets)

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Runs in a signal, so it only says what the loop is to do."""
        stop = super().handle_exit
        if self._phase.draining or not self._drain_seconds or self._loop is None:
            self._phase.draining = True
            stop(sig, frame)
            return
        self._phase.draining = True
        self._loop.call_soon_threadsafe(
            self._loop.call_later, self._drain_seconds, stop, signal.SIGTERM, None
        )


def server_of(app: Gate, settings: Settings) -> Ending:
    """Without an access log: addresses and times of people are no one's business there."""
    config = uvicorn.Config(
        app,
        host=settings.host,
        port=settings.port,
        http=wire(app.running.limits),
        ws="none",
        lifespan="on",
        backlog=BACKLOG,
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_keep_alive=settings.keep_alive_seconds,
        timeout_graceful_shutdown=settings.grace_seconds,
    )
    return Ending(config, app.running.phase, settings.drain_seconds)


def listen(host: str, port: int) -> socket.socket:
    """A socket bound to ``host``; port 0 takes any free one. Raises OSError."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    bound = socket.socket(family, socket.SOCK_STREAM)
    try:
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        bound.bind((host, port))
    except BaseException:
        bound.close()
        raise
    return bound
