"""How do several processes serve on one address, and what if one of them dies?"""

import logging
import multiprocessing
import signal
import socket
import time
from collections.abc import Callable
from types import FrameType

from msgspec.structs import replace

from service.app_server import listen
from service.settings import Settings

Serve = Callable[[Settings, socket.socket], bool]
"""Serves on a socket until told to stop; whether it had started."""

_LOG = logging.getLogger("stanchion.workers")
_STOPS = (signal.SIGINT, signal.SIGTERM)
_LOOK_EVERY_S = 0.2
_PAUSE_S = 1.0
"""A process that dies at once is not started again at once."""


def serve_by_many(settings: Settings, serve_on: Serve, say: Callable[[str], None]) -> bool:
    """Until told to stop; whether all of them ended well. Raises OSError.

    The children inherit the socket, so the system hands each connection to one that is free.
    """
    bound = listen(settings.host, settings.port)
    try:
        settings = replace(settings, port=bound.getsockname()[1])
        crew = _Crew(settings, serve_on, bound)
        for stop in _STOPS:
            signal.signal(stop, crew.stop)
        say(
            f"Serving {settings.place} at {settings.base} by {settings.workers} processes;"
            " the interface is at /docs."
        )
        return crew.watch()
    finally:
        bound.close()


class _Crew:
    def __init__(self, settings: Settings, serve_on: Serve, bound: socket.socket) -> None:
        self._settings = settings
        self._serve_on = serve_on
        self._bound = bound
        # forked before anything is opened: no thread, loop or connection is shared
        self._make = multiprocessing.get_context("fork").Process
        self._stopping = False
        self._hands = [self._new() for _ in range(settings.workers)]

    def stop(self, _number: int, _frame: FrameType | None) -> None:
        self._stopping = True

    def watch(self) -> bool:
        while not self._stopping:
            for at, hand in enumerate(self._hands):
                if not hand.is_alive():
                    _LOG.error("A serving process ended (%s); another starts.", hand.exitcode)
                    time.sleep(_PAUSE_S)
                    self._hands[at] = self._new()
            time.sleep(_LOOK_EVERY_S)
        for hand in self._hands:
            hand.terminate()
        for hand in self._hands:
            hand.join()
        # who was told to stop before it had begun has nothing to end
        return all(hand.exitcode in (0, -signal.SIGTERM) for hand in self._hands)

    def _new(self) -> "multiprocessing.process.BaseProcess":
        hand = self._make(target=_work, args=(self._settings, self._serve_on, self._bound))
        # nobody is told to stop between the fork and the moment it listens to that
        signal.pthread_sigmask(signal.SIG_BLOCK, _STOPS)
        try:
            hand.start()
        finally:
            signal.pthread_sigmask(signal.SIG_UNBLOCK, _STOPS)
        return hand


def _work(settings: Settings, serve_on: Serve, bound: socket.socket) -> None:
    for stop in _STOPS:
        signal.signal(stop, signal.SIG_DFL)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, _STOPS)
    raise SystemExit(0 if serve_on(settings, bound) else 1)
