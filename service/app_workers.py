"""How do several processes serve on one address, and what if one of them dies?"""

import logging
import multiprocessing
import os
import signal
import socket
import threading
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from types import FrameType

from msgspec.structs import replace

from service.app_server import listen
from service.settings import Settings

Serve = Callable[[Settings, socket.socket, Path, int], bool]
"""Serves on a socket until told to stop; whether it had started. It gets a folder that all share,
and its own place among them, which is that of the one it takes the place of."""

_LOG = logging.getLogger("stanchion.workers")
_STOPS = (signal.SIGINT, signal.SIGTERM)
_LOOK_EVERY_S = 0.2
_PAUSE_S = 1.0
"""A process that dies at once is not started again at once."""


def serve_by_many(settings: Settings, serve_on: Serve, say: Callable[[str], None]) -> bool:
    """Until told to stop; whether all of them ended well. Raises OSError.

    The children inherit the socket, so the system hands each connection to one that is free.
    """
    with TemporaryDirectory(prefix="stanchion-numbers-") as folder:
        return _serve(settings, serve_on, Path(folder), say)


def _serve(settings: Settings, serve_on: Serve, folder: Path, say: Callable[[str], None]) -> bool:
    bound = listen(settings.host, settings.port)
    try:
        settings = replace(settings, port=bound.getsockname()[1])
        crew = _Crew(settings, serve_on, bound, folder)
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
    def __init__(
        self, settings: Settings, serve_on: Serve, bound: socket.socket, folder: Path
    ) -> None:
        self._serve = lambda place: serve_on(settings, bound, folder, place)
        # forked before anything is opened: no thread, loop or connection is shared
        self._make = multiprocessing.get_context("fork").Process
        self._stopping = False
        self._hands = [self._new(place) for place in range(settings.workers)]

    def stop(self, _number: int, _frame: FrameType | None) -> None:
        self._stopping = True

    def watch(self) -> bool:
        while not self._stopping:
            for place, hand in enumerate(self._hands):
                if not hand.is_alive():
                    _LOG.error("A serving process ended (%s); another starts.", hand.exitcode)
                    time.sleep(_PAUSE_S)
                    self._hands[place] = self._new(place)
            time.sleep(_LOOK_EVERY_S)
        for hand in self._hands:
            hand.terminate()
        for hand in self._hands:
            hand.join()
        # who was told to stop before it had begun has nothing to end
        return all(hand.exitcode in (0, -signal.SIGTERM) for hand in self._hands)

    def _new(self, place: int) -> "multiprocessing.process.BaseProcess":
        hand = self._make(target=_work, args=(self._serve, place))
        # nobody is told to stop between the fork and the moment it listens to that
        signal.pthread_sigmask(signal.SIG_BLOCK, _STOPS)
        try:
            hand.start()
        finally:
            signal.pthread_sigmask(signal.SIG_UNBLOCK, _STOPS)
        return hand


def _work(serve: Callable[[int], bool], place: int) -> None:
    for stop in _STOPS:
        signal.signal(stop, signal.SIG_DFL)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, _STOPS)
    threading.Thread(target=_end_with, args=(os.getppid(),), daemon=True).start()
    raise SystemExit(0 if serve(place) else 1)


def _end_with(watching: int) -> None:
    """Who watched is gone without a word: nobody would start another, or tell this one to stop,
    and the address would stay taken."""
    while os.getppid() == watching:
        time.sleep(_PAUSE_S)
    os.kill(os.getpid(), signal.SIGTERM)
