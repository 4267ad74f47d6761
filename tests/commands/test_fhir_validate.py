"""Does the command say of each file whether it is valid, and by its exit code of all?"""

import io
import json
from argparse import Namespace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from service.commands import CHECK_FAILED, DONE, WRONG_USE, fhir_validate
from tests.fhir.broken import OBSERVATION, SAMPLES, changed

GOOD = json.dumps(OBSERVATION, default=float)
BAD = json.dumps(changed(OBSERVATION, "status", "finall"), default=float)


def run(*files: Any, **more: Any) -> int:
    names = [str(each) for each in files]
    return fhir_validate.run(Namespace(**{"files": names, "profile": [], "json": False, **more}))


def write(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def test_a_valid_file_is_done(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = write(tmp_path / "a.json", GOOD)
    assert run(path) == DONE
    assert capsys.readouterr().out == f"{path}: valid, 0 errors, 0 warnings\n"


def test_a_sample_is_valid(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(SAMPLES[0]) == DONE
    assert ": valid, 0 errors" in capsys.readouterr().out


def test_an_invalid_one_fails_with_path_and_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write(tmp_path / "a.json", BAD)
    assert run(path) == CHECK_FAILED
    first, second = capsys.readouterr().out.splitlines()
    assert first == f"{path}: not valid, 1 errors, 0 warnings"
    assert second.startswith("  error: Observation.status: The code is not in the required")


def test_each_line_of_ndjson_is_a_resource(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write(tmp_path / "a.ndjson", f"{GOOD}\n\n{BAD}\n")
    assert run(path) == CHECK_FAILED
    said = capsys.readouterr().out
    assert f"{path}:1: valid" in said and f"{path}:3: not valid" in said


def test_a_folder_stands_for_the_files_in_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "inner").mkdir()
    write(tmp_path / "inner" / "b.json", GOOD)
    write(tmp_path / "a.ndjson", GOOD)
    for name in ("c.txt", "package.json", ".index.json"):
        write(tmp_path / name, "no")
    assert run(tmp_path) == DONE
    assert len(capsys.readouterr().out.splitlines()) == 2


@pytest.mark.parametrize("text", ["{", "", '{"a":1,"a":2}', "nothing"])
def test_what_cannot_be_read_is_wrong_use(
    text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(write(tmp_path / "a.json", text), write(tmp_path / "b.json", BAD)) == WRONG_USE
    assert "unreadable: The body cannot be read as JSON." in capsys.readouterr().out


def test_a_key_that_comes_twice_is_told_with_its_place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(write(tmp_path / "a.json", '{"name": [{"family": "a", "family": "b"}]}'))
    assert "At /name/0/family: This key comes twice" in capsys.readouterr().out


def test_a_file_or_folder_with_nothing_is_wrong_use(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(tmp_path / "none.json", tmp_path) == WRONG_USE
    said = capsys.readouterr().out
    assert "No such file" in said and "There is no JSON file in this folder." in said


@pytest.mark.parametrize(
    ("text", "count"),
    [(GOOD, 1), (json.dumps(json.loads(GOOD), indent=1), 1), (f"{GOOD}\n{GOOD}", 2)],
)
def test_input_is_one_resource_or_one_a_line(
    text: str, count: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", SimpleNamespace(buffer=io.BytesIO(text.encode())))
    assert run("-") == DONE
    assert len(capsys.readouterr().out.splitlines()) == count


def test_json_is_a_line_for_each_with_its_outcome(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(write(tmp_path / "a.json", BAD), tmp_path / "b.json", json=True) == WRONG_USE
    first, second = map(json.loads, capsys.readouterr().out.splitlines())
    assert first["valid"] is False and first["outcome"]["resourceType"] == "OperationOutcome"
    assert first["outcome"]["issue"][0]["expression"] == ["Observation.status"]
    assert second["valid"] is None and "No such file" in second["problem"]


def test_an_unknown_profile_that_is_asked_for_fails(tmp_path: Path) -> None:
    path = write(tmp_path / "a.json", GOOD)
    assert run(path, profile=["http://a.example/p"]) == CHECK_FAILED
