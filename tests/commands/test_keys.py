"""Are keys made, listed, replaced and revoked at the keyboard, and shown once only?"""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from service.__main__ import main
from service.commands import WRONG_USE
from service.domain.scope import EVERYTHING
from tests.commands.test_org import Run


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    one = Run(tmp_path, capsys)
    one.done("org", "create", "Harbour")
    return one


def test_a_key_is_shown_once_and_its_secret_never_again(run: Run) -> None:
    key, _, said = run.done("keys", "create", "ward").splitlines()
    prefix, secret = key.split(".")
    assert "only time" in said
    listed = run.done("keys", "list") + run.done("keys", "list", "--json")
    assert prefix in listed and secret not in listed
    assert f"{EVERYTHING}; never used" in listed


def test_a_key_has_the_scopes_it_is_given(run: Run) -> None:
    scopes = ("--scope", "system/CarePlan.rs", "--scope", "system/Patient.s")
    made = json.loads(run.done("keys", "create", "board", *scopes, "--json"))
    assert made["info"]["scopes"] == "system/CarePlan.rs system/Patient.s"
    code, _, err = run("keys", "create", "board", "--scope", "all")
    assert code == WRONG_USE and "no scope" in err


def test_a_key_is_replaced_with_time_to_change_over(run: Run) -> None:
    made = json.loads(run.done("keys", "create", "ward", "--json"))["info"]
    new = json.loads(run.done("keys", "rotate", made["id"], "--overlap", "2h", "--json"))["info"]
    old, kept = json.loads(run.done("keys", "list", "--json"))
    assert (kept["id"], kept["name"], kept["expires"]) == (new["id"], "ward", None)
    assert old["id"] == made["id"] and old["expires"] is not None
    assert re.search(r"good until \d{4}-\d\d-\d\d \d\d:\d\d UTC", run.done("keys", "list"))
    run.done("keys", "revoke", made["id"])
    code, _, err = run("keys", "rotate", made["id"])
    assert code == WRONG_USE and "ended already" in err


@pytest.mark.parametrize("overlap", ["2", "2x", "-1h", "h", ""])
def test_an_overlap_is_a_number_and_a_unit(run: Run, overlap: str) -> None:
    with pytest.raises(SystemExit):
        main(["keys", "rotate", "x", f"--overlap={overlap}", "--database", str(run.database)])


def test_keys_of_one_organisation_are_listed_alone(run: Run) -> None:
    other = run.done("org", "create", "Hill").strip()
    code, _, err = run("keys", "create", "ward")
    assert code == WRONG_USE and "stanchion org list" in err
    run.done("keys", "create", "ward", "--organisation", other)
    assert len(json.loads(run.done("keys", "list", "--organisation", other, "--json"))) == 1
    assert json.loads(run.done("keys", "list", "--organisation", "none", "--json")) == []


def test_whoever_reads_the_first_line_only_gets_no_trace(run: Run) -> None:
    code = (
        "import os, sys; from service.__main__ import main\n"
        "reading, writing = os.pipe(); os.close(reading); os.dup2(writing, 1)\n"
        f"code = main(['keys', 'list', '--database', {str(run.database)!r}])\n"
        "sys.exit(code)"
    )
    run.done("keys", "create", "ward")
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, timeout=60
    )
    assert (done.returncode, done.stderr) == (0, "")
