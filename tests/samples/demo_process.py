"""How does a test get the real `stanchion demo`, up to where it says that it serves?"""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from msgspec import Struct

from tests.house.tree import ROOT

STOP_SECONDS = 30.0
ONCE_SECONDS = 120.0


class Demo(Struct):
    """A running demo and all that it printed before it said that it serves."""

    process: subprocess.Popen[str]
    printed: list[str]

    @property
    def pasted(self) -> list[str]:
        """The lines the README tells its reader to paste."""
        return [line for line in self.printed if line.startswith(("URL=", "KEY="))]

    def end(self, number: signal.Signals = signal.SIGINT) -> int:
        self.process.send_signal(number)
        return self.process.wait(STOP_SECONDS)


@contextmanager
def demo(folder: Path, *words: str, **more: str) -> Iterator[Demo]:
    """A demo run from ``folder``, on a free port unless ``words`` say otherwise."""
    process = subprocess.Popen(
        command(*(words or ("--port", "0"))),
        cwd=folder,
        env=environment(more),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        yield Demo(process, _until_serving(process))
    finally:
        if process.poll() is None:
            process.kill()
        process.communicate()


def once(folder: Path, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
    """`stanchion demo` with ``words``, run to its end from ``folder``."""
    return subprocess.run(
        command(*words),
        cwd=folder,
        env=environment(more),
        capture_output=True,
        text=True,
        timeout=ONCE_SECONDS,
        check=False,
    )


def command(*words: str) -> list[str]:
    return [sys.executable, "-m", "service", "demo", *words]


def environment(more: Mapping[str, str]) -> dict[str, str]:
    """This process's environment, the package from this checkout unless ``more`` says another."""
    found = {"PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}
    return {**os.environ, **found, **more}


def _until_serving(process: subprocess.Popen[str]) -> list[str]:
    printed: list[str] = []
    assert process.stdout is not None
    for line in process.stdout:
        if line.startswith("Serving on"):
            return printed
        printed.append(line.rstrip("\n"))
    raise AssertionError("\n".join(["The demo ended before it served.", *printed]))
