"""Does the command tell what went unnoticed, and refuse where there are no tests?"""

import json
from argparse import Namespace
from pathlib import Path
from types import SimpleNamespace

import pytest

from service.__main__ import parser
from service.commands import CHECK_FAILED, DONE, WRONG_USE, rules_mutate
from tests.invariants.mutation import Caught

NOTICED = Caught("methods/a: removed", "a claim", "somebody")
SURVIVED = Caught("methods/b: removed", None, "")


class Hunted(SimpleNamespace):
    """What the tests would find, found at once."""

    def hunt(self) -> list[Caught]:
        return [NOTICED, SURVIVED]

    def unexplained(self, _: list[Caught]) -> list[str]:
        return list(self.without_reason)

    def outdated(self, _: list[Caught]) -> list[str]:
        return []


def hunted(monkeypatch: pytest.MonkeyPatch, *without_reason: str) -> None:
    module = Hunted(without_reason=without_reason)
    monkeypatch.setattr("importlib.import_module", lambda _: module)


def test_an_unexplained_survivor_fails_the_command(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    hunted(monkeypatch, SURVIVED.mutant)
    assert rules_mutate.run(Namespace(json=False)) == CHECK_FAILED
    told = capsys.readouterr().out
    assert "methods/a: removed | a claim" in told
    assert "Nothing notices, and nothing explains: methods/b: removed" in told


def test_explained_survivors_do_not(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    hunted(monkeypatch)
    assert rules_mutate.run(Namespace(json=True)) == DONE
    told = json.loads(capsys.readouterr().out)
    assert [each["by"] for each in told["mutants"]] == ["a claim", None]
    assert told["unexplained"] == []


def test_without_a_checkout_it_says_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    monkeypatch.setattr(rules_mutate, "CHECKOUT", tmp_path)
    assert rules_mutate.run(Namespace(json=False)) == WRONG_USE
    assert "only from a checkout" in capsys.readouterr().err


def test_without_the_development_dependencies_it_names_the_missing_one(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def missing(_: str) -> None:
        raise ModuleNotFoundError(name="z3")

    monkeypatch.setattr("importlib.import_module", missing)
    assert rules_mutate.run(Namespace(json=False)) == WRONG_USE
    assert "z3 is not installed" in capsys.readouterr().err


def test_it_is_asked_for_on_the_command_line() -> None:
    assert parser().parse_args(["rules", "mutate", "--json"]).run is rules_mutate.run
