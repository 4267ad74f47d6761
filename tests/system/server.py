"""How does a test get a real server process, and end it gently or not at all gently?"""

import atexit
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

import httpx
from msgspec import Struct

from service.domain.scope import BY_NAME, EVERYTHING
from service.storage.place import Place
from service.storage.place import Server as Postgres

START_SECONDS = 60.0
STOP_SECONDS = 30.0


class Server(Struct):
    """A server process on a free port of loopback. ``client`` carries a key."""

    base: str
    key: str
    process: subprocess.Popen[str]
    client: httpx.Client

    def kill(self) -> None:
        """As a power cut would: no goodbye."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(STOP_SECONDS)

    def stop(self) -> int:
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(STOP_SECONDS)


def command(database: Place, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
    """``stanchion`` with ``words`` on this database."""
    return subprocess.run(
        [sys.executable, "-m", "service", *words],
        env=environment(database, **more),
        capture_output=True,
        text=True,
        timeout=START_SECONDS,
        check=False,
    )


def environment(database: Place, **more: str) -> dict[str, str]:
    """This process's environment without settings of its own."""
    if isinstance(database, Postgres):
        place = {"STANCHION_POSTGRES": database.write}
        if database.read is not None:
            place["STANCHION_POSTGRES_READ"] = database.read
    else:
        place = {"STANCHION_DATABASE": str(database)}
    kept = {name: value for name, value in os.environ.items() if not name.startswith("STANCHION_")}
    return {**kept, **place, **more}


def key_for(database: Place) -> str:
    """A new key for the record and its trail, of a new organisation where there is none."""
    if not command(database, "org", "list").stdout:
        made = command(database, "org", "create", "Harbour")
        assert made.returncode == 0, made.stderr
    scopes = ("--scope", EVERYTHING, "--scope", f"system/{BY_NAME}.rs")
    created = command(database, "keys", "create", "test", *scopes)
    assert created.returncode == 0, created.stderr
    return created.stdout.splitlines()[0]


@contextmanager
def serving(database: Place, key: str | None = None, **more: str) -> Iterator[Server]:
    """A server on ``database`` with ``more`` settings, ready; ended at the end."""
    key = key or key_for(database)
    log = log_of(database)
    with log.open("w", encoding="utf-8") as written:
        process = subprocess.Popen(
            [sys.executable, "-m", "service", "serve", "--port", "0"],
            env=environment(database, **more),
            stdout=subprocess.PIPE,
            stderr=written,
            text=True,
        )
    try:
        base = _base(process, log)
        headers = {"Authorization": f"Bearer {key}"}
        with httpx.Client(base_url=base, headers=headers, timeout=30) as client:
            _wait_until_ready(client)
            yield Server(base, key, process, client)
    finally:
        if process.poll() is None:
            process.terminate()
        process.wait(STOP_SECONDS)
        if process.stdout is not None:
            process.stdout.close()


def log_of(database: Place) -> Path:
    """Where the server that was started last on ``database`` writes its log."""
    if isinstance(database, Path):
        return database.with_suffix(".log")
    return _logs() / f"{hash(database):x}.log"


@cache
def _logs() -> Path:
    """A folder of this test run, which goes with it."""
    folder = Path(mkdtemp(prefix="stanchion-logs-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def _base(process: subprocess.Popen[str], log: Path) -> str:
    assert process.stdout is not None
    found = re.search(r"http://\S+?:\d+", process.stdout.readline())
    assert found is not None, f"The server did not start: {log.read_text(encoding='utf-8')}"
    return found[0]


def _wait_until_ready(client: httpx.Client) -> None:
    until = time.monotonic() + START_SECONDS
    while time.monotonic() < until:
        try:
            if client.get("/health/ready").status_code == 200:
                return
        except httpx.TransportError:
            pass
        time.sleep(0.05)
    raise AssertionError("The server did not become ready.")
