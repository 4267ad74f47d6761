"""Do the actions about FHIR stand on the command line?"""

from argparse import ArgumentParser

import pytest

from service.commands import fhir


def parser() -> ArgumentParser:
    whole = ArgumentParser()
    fhir.add(whole.add_subparsers(required=True))
    return whole


def test_validate_takes_files_and_profiles() -> None:
    args = parser().parse_args(["fhir", "validate", "a.json", "-", "--profile", "p", "--json"])
    assert (args.files, args.profile, args.json) == (["a.json", "-"], ["p"], True)


def test_an_action_must_be_named(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        parser().parse_args(["fhir"])
    assert "action" in capsys.readouterr().err
