"""How does the demo serve: the real service, on loopback, with a file that goes when it ends?"""

import signal
import socket
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread

import uvicorn
from msgspec import Struct

from service.app import BACKLOG, build, listen, server_of
from service.clock import now
from service.settings import DEFAULT_PORT, LogLevel, Settings
from service.storage.keys import create_key
from service.storage.organisations import create_organisation

HOST = "127.0.0.1"
ORGANISATION = "Quillmere Hospital"
TIME_ZONE = "UTC"
KEY_NAME = "demo"
START_SECONDS = 30
GLANCE_SECONDS = 0.02


class NotServed(Exception):
    """The service did not start."""


class Place(Struct, frozen=True):
    """Where it serves, and the key that opens it."""

    url: str
    port: int
    key: str


@contextmanager
def served(port: int | None) -> Iterator[Place]:
    """The service while the block runs. Raises NotServed, BadRuleBook, OSError."""
    with tempfile.TemporaryDirectory(prefix="stanchion-demo-") as folder, _bound(port) as bound:
        taken = bound.getsockname()[1]
        settings = Settings(
            database=Path(folder) / "demo.db", host=HOST, port=taken, log_level=LogLevel.WARNING
        )
        server = server_of(build(settings), settings)
        organisation = create_organisation(settings.database, now, ORGANISATION, TIME_ZONE)
        made = create_key(settings.database, now, organisation.org, KEY_NAME)
        with _running(server, bound):
            yield Place(settings.base, taken, made.key)


@contextmanager
def _bound(port: int | None) -> Iterator[socket.socket]:
    """The port that was asked for, or any free one where it is taken."""
    try:
        bound = _listening(DEFAULT_PORT if port is None else port)
    except OSError:
        bound = _listening(0)
    try:
        yield bound
    finally:
        bound.close()


def _listening(port: int) -> socket.socket:
    bound = listen(HOST, port)
    try:
        # two may bind one port, only one may listen: better to know now than at the first call
        bound.listen(BACKLOG)
    except OSError:
        bound.close()
        raise
    return bound


@contextmanager
def _running(server: uvicorn.Server, bound: socket.socket) -> Iterator[None]:
    thread = Thread(target=server.run, kwargs={"sockets": [bound]}, name="demo")
    thread.start()
    try:
        _await_start(server, thread)
        yield
    finally:
        # a second Ctrl-C must not leave the temporary directory behind
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, signal.SIG_IGN)
        server.should_exit = True
        thread.join()


def _await_start(server: uvicorn.Server, thread: Thread) -> None:
    until = time.monotonic() + START_SECONDS
    while not server.started:
        if not thread.is_alive() or time.monotonic() > until:
            raise NotServed("The service did not start.")
        time.sleep(GLANCE_SECONDS)
