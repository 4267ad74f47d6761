"""Do several processes serve as one: replaced when they die, ended together, in one address?"""

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from tests.house.tree import ROOT

# Each hand leaves a file named by its place and its id, and ends as it is told to.
CREW = """
import os, signal, sys, time
from pathlib import Path
from service.app_workers import serve_by_many
from service.settings import Settings

told, ends = Path(sys.argv[1]), sys.argv[2]

def serve(settings, bound, folder, place):
    over = []
    signal.signal(signal.SIGTERM, lambda *_: over.append(True))
    port = bound.getsockname()[1]
    (told / f"{place}-{os.getpid()}").write_text(f"{settings.port} {port} {folder}")
    while not over:
        time.sleep(0.01)
    return ends == "well" or place != 1

settings = Settings(postgres="dbname=none", workers=3, port=0)
print(serve_by_many(settings, serve, lambda line: print(line, flush=True)), flush=True)
"""
LONG = 20.0


@contextmanager
def crew(folder: Path, ends: str = "well") -> Iterator["subprocess.Popen[str]"]:
    process = subprocess.Popen(
        [sys.executable, "-c", CREW, str(folder), ends],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        until(lambda: len(hands(folder)) == 3)
        yield process
    finally:
        process.kill()
        process.communicate()
        for hand in hands(folder):
            with suppress(ProcessLookupError):
                os.kill(hand[1], signal.SIGKILL)


def hands(folder: Path) -> list[tuple[int, int]]:
    """Place and id of each that was ever started."""
    found = [re.fullmatch(r"([0-9]+)-([0-9]+)", path.name) for path in folder.iterdir()]
    return sorted((int(one[1]), int(one[2])) for one in found if one)


def until(so: Callable[[], bool]) -> None:
    over = time.monotonic() + LONG
    while not so():
        assert time.monotonic() < over
        time.sleep(0.02)


def lives(process: int) -> bool:
    with suppress(ProcessLookupError):
        os.kill(process, 0)
        return True
    return False


def told(folder: Path, hand: tuple[int, int]) -> list[str]:
    path = folder / f"{hand[0]}-{hand[1]}"
    until(lambda: bool(path.read_text(encoding="ascii")))
    return path.read_text(encoding="ascii").split()


def test_all_serve_on_one_address_each_in_a_place_of_its_own_and_end_together(
    tmp_path: Path,
) -> None:
    with crew(tmp_path) as process:
        first = hands(tmp_path)
        assert [place for place, _ in first] == [0, 1, 2]
        ((said, port, shared),) = {tuple(told(tmp_path, hand)) for hand in first}
        assert said == port != "0"
        assert Path(shared).stat().st_mode & 0o777 == 0o700
        process.send_signal(signal.SIGTERM)
        printed, _ = process.communicate(timeout=LONG)
    assert f"127.0.0.1:{port} by 3 processes" in printed
    assert printed.endswith("True\n")
    assert not any(lives(hand) for _, hand in first)
    assert not Path(shared).exists()


def test_who_was_killed_is_replaced_in_the_same_place(tmp_path: Path) -> None:
    with crew(tmp_path) as process:
        first = hands(tmp_path)
        os.kill(first[1][1], signal.SIGKILL)
        until(lambda: len(hands(tmp_path)) == 4)
        (new,) = set(hands(tmp_path)) - set(first)
        assert new[0] == 1
        assert told(tmp_path, new) == told(tmp_path, first[0])
        process.send_signal(signal.SIGINT)
        printed, written = process.communicate(timeout=LONG)
    assert printed.endswith("True\n")
    assert "A serving process ended (-9)" in written


def test_one_that_did_not_end_well_is_told(tmp_path: Path) -> None:
    with crew(tmp_path, "badly") as process:
        for hand in hands(tmp_path):
            told(tmp_path, hand)
        process.send_signal(signal.SIGTERM)
        printed, _ = process.communicate(timeout=LONG)
    assert printed.endswith("False\n")


def test_where_the_one_who_watches_is_killed_nobody_goes_on_alone(tmp_path: Path) -> None:
    with crew(tmp_path) as process:
        ((*_, shared),) = {tuple(told(tmp_path, hand)) for hand in hands(tmp_path)}
        process.kill()
        process.communicate()
        until(lambda: not any(_runs(hand) for _, hand in hands(tmp_path)))
        Path(shared).rmdir()


def _runs(process: int) -> bool:
    """Not one that ended and whose end nobody asked for yet."""
    told = ["ps", "-o", "stat=", "-p", str(process)]
    state = subprocess.run(told, capture_output=True, text=True, check=False).stdout
    return state.strip()[:1] not in ("", "Z")
