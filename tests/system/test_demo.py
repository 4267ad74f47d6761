"""Does `stanchion demo` work from anywhere, tell drift from truth, and leave nothing behind?"""

import re
import shutil
import signal
import socket
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import httpx
import pytest

from service.settings import DEFAULT_PORT
from tests.house.tree import ROOT
from tests.samples.demo_process import demo, once

ANSI = "\x1b"


@pytest.fixture
def taken() -> Iterator[None]:
    """The default port, held by somebody: by us, unless it was held before."""
    with closing(socket.socket()) as held:
        held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            held.bind(("127.0.0.1", DEFAULT_PORT))
            held.listen()
        except OSError:
            pass
        yield


@pytest.fixture
def installed(tmp_path: Path) -> Path:
    """The package as a wheel lays it out: the samples inside, no checkout around it."""
    place = tmp_path / "installed"
    passed_over = shutil.ignore_patterns("__pycache__")
    shutil.copytree(ROOT / "service", place / "service", ignore=passed_over)
    shutil.copytree(ROOT / "samples", place / "service" / "samples")
    return place


@pytest.mark.usefixtures("taken")
def test_once_is_content_from_another_folder_with_the_default_port_taken(tmp_path: Path) -> None:
    ran = once(tmp_path, "--once", TMPDIR=str(tmp_path))

    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert ran.stderr == ""
    assert "All 19 samples are answered as kept, native and FHIR." in ran.stdout
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("form", "kept", "tampered"),
    [
        ("answer.json", '"method": "transfer_board"', '"method": "standby"'),
        ("answer.fhir.json", '"code": "transfer_board"', '"code": "standby"'),
    ],
)
def test_once_finds_a_sample_that_was_tampered_with(
    form: str, kept: str, tampered: str, installed: Path, tmp_path: Path
) -> None:
    (path,) = (installed / "service" / "samples").glob(f"07_*/{form}")
    text = path.read_text(encoding="utf-8")
    assert kept in text
    path.write_text(text.replace(kept, tampered, 1), encoding="utf-8")

    ran = once(tmp_path, "--once", "--port", "0", PYTHONPATH=str(installed))

    assert ran.returncode == 1, ran.stderr
    assert f"differs  {path.parent.name}" in ran.stdout
    assert re.search(rf"^ +\+ *{re.escape(kept)}", ran.stdout, re.MULTILINE)
    assert ran.stdout.count("differs  ") == 1


def test_written_samples_are_the_kept_ones(installed: Path, tmp_path: Path) -> None:
    samples = installed / "service" / "samples"
    for path in samples.glob("*/answer*.json"):
        path.unlink()

    ran = once(tmp_path, "--write-samples", str(samples), "--port", "0")

    assert ran.returncode == 0, ran.stderr
    for path in sorted((ROOT / "samples").glob("*/answer*.json")):
        written = samples / path.parent.name / path.name
        assert written.read_text(encoding="utf-8") == path.read_text(encoding="utf-8")


def test_a_folder_without_samples_is_wrong_use(tmp_path: Path) -> None:
    ran = once(tmp_path, "--write-samples", str(tmp_path))

    assert ran.returncode == 2
    assert ran.stderr == f"There are no samples in {tmp_path}.\n"


def test_a_screen_the_service_refuses_is_named(installed: Path, tmp_path: Path) -> None:
    (path,) = (installed / "service" / "samples").glob("07_*/request.json")
    text = path.read_text(encoding="utf-8").replace('"NWB"', '"PWB"')
    path.write_text(text, encoding="utf-8")

    ran = once(tmp_path, "--once", "--port", "0", PYTHONPATH=str(installed))

    assert ran.returncode == 1
    assert ran.stderr.startswith(f"{path.parent.name}: 422 ")
    assert "/orders/weight_bearing/left_leg/percent" in ran.stderr


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_ends_it_cleanly_and_its_data_is_gone(
    number: signal.Signals, tmp_path: Path
) -> None:
    with demo(tmp_path, TMPDIR=str(tmp_path)) as running:
        (folder,) = tmp_path.glob("stanchion-demo-*")
        assert (folder / "demo.db").is_file()

        assert running.end(number) == 0

        assert list(tmp_path.iterdir()) == []


def test_it_prints_the_scenario_the_key_and_lines_that_work(tmp_path: Path) -> None:
    with demo(tmp_path) as running:
        text = "\n".join(running.printed)
        url, key = (line.partition("=")[2] for line in running.pasted)
        plan = re.search(r"\$URL(/v1/patients/\S+/plan)", text)
        assert plan
        answer = httpx.get(f"{url}{plan[1]}", headers={"X-API-Key": key})
        page = httpx.get(f"{url}/docs")
        assert running.end() == 0

    assert answer.json()["state"] == "current"
    assert page.status_code == 200
    assert ANSI not in text
    assert "It does not diagnose." in " ".join(text.split())
    assert len(re.findall(r"^ +Bed to chair.*In a full-body sling +2 ", text, re.MULTILINE)) >= 3
    assert all(len(line) <= 80 for line in running.printed if not re.search(r"curl|http|@", line))
