"""Is every library listed and asked about, and every finding in the code seen?"""

import tomllib
from pathlib import Path

import pytest

from tests.house.conftest import Grow
from tests.house.supply import bill, findings, unlisted, unreasoned
from tests.house.tree import ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def test_every_finding_in_the_code_has_a_reason() -> None:
    assert list(unreasoned(findings(ROOT))) == []


def test_a_finding_without_a_reason_and_a_reason_without_a_finding_are_told(grow: Grow) -> None:
    root = grow({"service/x.py": "import pickle\n\nprint(pickle.loads(b''))\n"})
    found = findings(root)
    assert ("B301", "service/x.py", 3) in found
    said = list(unreasoned(found))
    assert "service/x.py:3: B301 has no reason in tests/house/supply.py" in said
    assert any("is found no more" in line for line in said)


@pytest.fixture(scope="module")
def told() -> dict[str, object]:
    return bill(ROOT)


def test_the_bill_of_materials_lists_every_library_the_service_runs_with(
    told: dict[str, object],
) -> None:
    lock = (ROOT / "requirements.txt").read_text(encoding="utf-8")
    assert list(unlisted(told, lock, PROJECT["project"]["dependencies"])) == []


def test_a_library_that_the_bill_lacks_is_found(told: dict[str, object]) -> None:
    said = list(unlisted(told, "litestar==0.0.1 \\\n", ["no-such-library>=1"]))
    assert said == [
        "litestar: the bill of materials has no hash of the pinned version",
        "no-such-library: is not in the bill of materials",
    ]


def test_the_tasks_take_the_lock_and_do_not_pass_what_nobody_could_be_asked_about() -> None:
    tasks = PROJECT["tool"]["poe"]["tasks"]
    audit, sbom = tasks["audit"]["cmd"], tasks["sbom"]["sequence"][-1]["cmd"]
    for wanted in ("--strict", "--require-hashes", "--disable-pip", "requirements-postgres.txt"):
        assert wanted in audit
    for wanted in ("cyclonedx-py requirements requirements.txt", "dist/sbom.json"):
        assert wanted in sbom


def test_a_check_of_a_change_asks_about_the_same_libraries_where_it_can() -> None:
    asked = PROJECT["tool"]["poe"]["tasks"]["audit"]["cmd"].replace("--strict ", "")
    assert f".venv/bin/{asked}" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_what_the_tasks_write_is_not_part_of_the_project() -> None:
    assert "dist" in Path(ROOT / ".gitignore").read_text(encoding="utf-8")
