"""How is one part of the database started on loopback, and how does it die without a word?"""

import contextlib
import ctypes
import os
import pwd
import signal
import socket
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from msgspec import Struct

from tests.house.tree import ROOT

HA = ROOT / "docker" / "ha"
ACCOUNT = "postgres"
_PR_SET_CHILD_SUBREAPER = 36


def _nobody() -> list[int]:
    return []


class Part(Struct):
    """A process that can be started again as it was. ``orphans``: what it leaves when it dies."""

    name: str
    command: list[str]
    environment: dict[str, str]
    log: Path
    orphans: Callable[[], list[int]] = _nobody
    process: "subprocess.Popen[bytes] | None" = None

    def start(self) -> None:
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                self.command,
                env=self.environment,
                stdout=log,
                stderr=log,
                cwd=self.log.parent,
                start_new_session=True,
                user=unprivileged(),
                group=None if unprivileged() is None else pwd.getpwnam(ACCOUNT).pw_gid,
            )

    def kill(self) -> None:
        """It and all that is of it, at once: as if the machine lost its power."""
        for pid in [*self._own(), *self.orphans()]:
            tell(pid, signal.SIGKILL)
        if self.process is not None:
            self.process.wait(10)

    def freeze(self) -> None:
        """It is there, holds its connections, and says nothing more."""
        for pid in [*self._own(), *self.orphans()]:
            tell(pid, signal.SIGSTOP)

    def thaw(self) -> None:
        for pid in [*self.orphans(), *self._own()]:
            tell(pid, signal.SIGCONT)

    def _own(self) -> list[int]:
        return [] if self.process is None else [self.process.pid]


def unprivileged() -> str | None:
    """Who runs the database: never the superuser, who is refused by it."""
    return ACCOUNT if os.getuid() == 0 else None


def give(folder: Path) -> None:
    """All below ``folder`` to whoever runs the database."""
    if unprivileged() is None:
        return
    account = pwd.getpwnam(ACCOUNT)
    for path in (folder, *folder.rglob("*")):
        os.chown(path, account.pw_uid, account.pw_gid)


def adopt_orphans() -> None:
    """A server's parent ends before it: it becomes ours, and a thread takes note of its death, or
    the next server in its place would take it for alive."""
    ctypes.CDLL(None).prctl(_PR_SET_CHILD_SUBREAPER, 1, 0, 0, 0)
    threading.Thread(target=_bury, daemon=True).start()


def _bury() -> None:
    while True:
        for pid, parent, state, name in _processes():
            if (parent, state, name) == (os.getpid(), "Z", "postgres"):
                with contextlib.suppress(ChildProcessError):
                    os.waitpid(pid, os.WNOHANG)
        time.sleep(0.2)


def tell(pid: int, what: signal.Signals) -> None:
    with contextlib.suppress(ProcessLookupError):
        os.kill(pid, what)


def family(pid: int) -> list[int]:
    """A process and all below it."""
    parents = {each: parent for each, parent, _, _ in _processes()}
    found = [pid] if pid in parents else []
    for one in found:
        found += [child for child, parent in parents.items() if parent == one]
    return found


def _processes() -> Iterator[tuple[int, int, str, str]]:
    """Each process, its parent, its state and its name."""
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            with contextlib.suppress(OSError):
                told = (entry / "stat").read_text(encoding="utf-8", errors="replace")
                name, _, rest = told.partition("(")[2].rpartition(")")
                state, parent = rest.split()[:2]
                yield int(entry.name), int(parent), state, name


def free_ports(count: int) -> list[int]:
    """Ports of loopback that nobody has."""
    sockets = [socket.create_server(("127.0.0.1", 0)) for _ in range(count)]
    ports = [int(one.getsockname()[1]) for one in sockets]
    for one in sockets:
        one.close()
    return ports


def until(what: str, holds: Callable[[], bool], seconds: float) -> float:
    """Waits until it holds; gives how long that took. Raises TimeoutError."""
    began = time.monotonic()
    while not holds():
        if time.monotonic() - began > seconds:
            raise TimeoutError(f"{what}: not within {seconds:.0f} s")
        time.sleep(0.05)
    return time.monotonic() - began
