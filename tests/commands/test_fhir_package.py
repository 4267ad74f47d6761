"""Does the command write a package that can be loaded, the same each time?"""

import tarfile
from argparse import Namespace
from pathlib import Path

import pytest

from service.__main__ import main, parser
from service.commands import CANNOT, DONE, fhir_package
from service.demo import scenario

NAME = "stanchion.safepatienthandling-1.0.0.tgz"


def test_a_package_is_written_and_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "new"
    assert main(["fhir", "package", "--output", str(folder)]) == DONE
    written = folder / NAME
    assert capsys.readouterr().out == f"{written}\n"
    with tarfile.open(written) as archive:
        names = archive.getnames()
    assert "package/package.json" in names
    assert "package/StructureDefinition-stanchion-care-plan.json" in names
    assert any(name.startswith("package/example/CarePlan-") for name in names)


def test_it_is_the_same_each_time(tmp_path: Path) -> None:
    for folder in ("a", "b"):
        assert fhir_package.run(Namespace(output=tmp_path / folder)) == DONE
    assert (tmp_path / "a" / NAME).read_bytes() == (tmp_path / "b" / NAME).read_bytes()


def test_without_a_folder_it_is_written_here() -> None:
    assert parser().parse_args(["fhir", "package"]).output == Path()


def test_a_folder_that_cannot_be_written_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = tmp_path / "file"
    place.write_text("taken", encoding="utf-8")
    assert fhir_package.run(Namespace(output=place)) == CANNOT
    assert str(place) in capsys.readouterr().err


def test_without_samples_there_is_nothing_to_show(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(scenario, "here", lambda: tmp_path)
    assert fhir_package.run(Namespace(output=tmp_path / "out")) == CANNOT
    assert "no samples" in capsys.readouterr().err
