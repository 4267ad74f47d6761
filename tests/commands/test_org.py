"""Are organisations made, shown and set at the keyboard, and wrong numbers kept out?"""

import json
from pathlib import Path

import pytest

from service.__main__ import main
from service.commands import CHECK_FAILED, DONE, WRONG_USE
from service.domain.context import Setting
from service.domain.units import Units
from service.rules.load import load_book
from service.storage.organisations import list_organisations
from tests.rules.test_load import OURS


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> "Run":
    return Run(tmp_path, capsys)


class Run:
    """The command on a database of its own."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder = folder
        self.database = folder / "record.db"
        self._capsys = capsys

    def __call__(self, *words: str) -> tuple[int, str, str]:
        code = main([*words, "--database", str(self.database)])
        told = self._capsys.readouterr()
        return code, told.out, told.err

    def done(self, *words: str) -> str:
        code, out, err = self(*words)
        assert (code, err) == (DONE, "")
        return out

    def file(self, text: str) -> str:
        path = self.folder / "ours.toml"
        path.write_text(text, encoding="utf-8")
        return str(path)


def test_one_is_made_and_listed(run: Run) -> None:
    org = run.done("org", "create", "Harbour", "--time-zone", "Europe/Dublin").strip()
    assert run.done("org", "list") == f"{org}  Europe/Dublin  Harbour\n"
    (listed,) = json.loads(run.done("org", "list", "--json"))
    assert (listed["org"], listed["overlay"]) == (org, None)
    assert run("org", "create", "Hill", "--time-zone", "Mars/Olympus")[0] == WRONG_USE


def test_its_own_numbers_are_kept_and_told_with_the_book_they_make(run: Run) -> None:
    org = run.done("org", "create", "Harbour").strip()
    told = run.done("org", "set", org, "--overlay", run.file(OURS))
    assert "started anew" in told and "ours.toml" in told
    digest = load_book(run.folder / "ours.toml").ref.digest
    shown = json.loads(run.done("org", "show", org, "--json"))
    assert shown["rule_book"]["digest"] == digest
    assert shown["organisation"]["overlay"]["content"] == OURS
    assert "(own numbers: ours.toml)" in run.done("org", "list")
    (run.folder / "ours.toml").unlink()
    assert digest in run.done("org", "show", org)
    plain = run.done("org", "set", org, "--no-overlay")
    assert load_book().ref.digest in plain


def test_looser_numbers_are_refused_and_change_nothing(run: Run) -> None:
    org = run.done("org", "create", "Harbour").strip()
    loose = run.file(OURS.replace("170", "190"))
    code, _, err = run("org", "set", org, "--name", "Other", "--overlay", loose)
    assert code == CHECK_FAILED
    assert "stop_systolic_above: 190 is looser" in err
    (kept,) = list_organisations(run.database)
    assert (kept.name, kept.overlay) == ("Harbour", None)
    assert run("org", "set", org, "--overlay", str(run.folder / "none.toml"))[0] == CHECK_FAILED


def test_a_name_and_a_zone_change_alone(run: Run) -> None:
    org = run.done("org", "create", "Harbour").strip()
    run.done("org", "set", org, "--overlay", run.file(OURS))
    changed = json.loads(run.done("org", "set", org, "--time-zone", "Europe/Oslo", "--json"))
    one = changed["organisation"]
    assert (one["name"], one["time_zone"]) == ("Harbour", "Europe/Oslo")
    assert one["overlay"]["name"] == "ours.toml"
    assert run("org", "set", org, "--name", " ")[0] == WRONG_USE


def test_the_setting_of_screens_that_do_not_say_it_is_set_and_taken_back(run: Run) -> None:
    org = run.done("org", "create", "Harbour").strip()
    assert "setting    acute, where" in run.done("org", "show", org)
    assert "setting    home, where" in run.done("org", "set", org, "--setting", "home")
    run.done("org", "set", org, "--name", "Home care")
    assert list_organisations(run.database)[0].setting == Setting.HOME
    assert "setting    acute, where" in run.done("org", "set", org, "--setting", "unsaid")


def test_one_that_is_not_there_is_wrong_use(run: Run) -> None:
    for words in (("show", "nowhere"), ("set", "nowhere", "--name", "x")):
        code, _, err = run("org", *words)
        assert (code, err) == (WRONG_USE, "There is no organisation nowhere.\n")


def test_the_units_that_people_read_are_set_and_taken_back(run: Run) -> None:
    org = run.done("org", "create", "Harbour").strip()
    plain = run.done("org", "show", org)
    assert "units      si" in plain
    changed = run.done("org", "set", org, "--units", "us")
    assert "units      us" in changed
    assert changed.splitlines()[-1] != plain.splitlines()[-1]  # the digest covers the units
    run.done("org", "set", org, "--name", "Harbour Trust")
    assert list_organisations(run.database)[0].units == Units.US
    assert run.done("org", "set", org, "--units", "si").splitlines()[-1] == plain.splitlines()[-1]
