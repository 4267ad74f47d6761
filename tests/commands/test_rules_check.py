"""Does the check fail on faults only, and find what is idle?"""

import json
from argparse import Namespace
from pathlib import Path

import pytest
from msgspec.structs import replace

from service.__main__ import parser
from service.commands import CHECK_FAILED, DONE, rules_check
from service.domain.axis import Axis, Number
from service.domain.citation import Citation, Standing
from service.domain.move import Move
from service.domain.requirement import AnyOf, Limit, Need
from service.rules.book import Option, RuleBook
from service.rules.load import HERE, freeze, read_with
from tests.house.tree import ROOT

CITED = Citation("common_practice", Standing.PRACTICE)


def limit(comparison: str, value: int) -> Limit:
    return Limit("a.rule", next(iter(Number)), comparison, "p", value, "why", CITED)


def test_the_book_has_no_faults(capsys: pytest.CaptureFixture[str]) -> None:
    assert rules_check.run(Namespace(json=True, path=HERE, overlay=None)) == DONE
    assert json.loads(capsys.readouterr().out)["faults"] == []


def test_a_refused_overlay_is_a_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    overlay = tmp_path / "own.toml"
    overlay.write_text("nonsense = 1\n", encoding="utf-8")
    assert rules_check.run(Namespace(json=False, path=HERE, overlay=overlay)) == CHECK_FAILED
    assert "fault: own.toml" in capsys.readouterr().out


def test_an_idle_parameter_and_source_and_method_are_found() -> None:
    files, ref = read_with(HERE, None)
    book = freeze(files, ref)
    parameter = next(iter(book.parameters.values()))
    source = next(iter(book.sources.values()))
    method = next(iter(book.methods.values()))
    more = replace(
        book,
        parameters={**book.parameters, "idle_p": parameter},
        sources={**book.sources, "idle_s": source},
        methods={**book.methods, "idle_m": method},
    )
    assert list(rules_check.idle(files, book)) == []
    assert list(rules_check.idle(files, more)) == [
        "parameters: nothing uses `idle_p`",
        "methods/idle_m: no move ever chooses it, whoever is moved and whatever is at hand",
    ]
    doubts = set(rules_check.doubtful(files, more)) - set(rules_check.doubtful(files, book))
    assert doubts == {"sources/idle_s: nobody cites it"}


def with_first_option(book: RuleBook, option: Option) -> RuleBook:
    rules = book.moves[Move.WALK]
    return replace(
        book, moves={**book.moves, Move.WALK: replace(rules, options=(option, *rules.options[1:]))}
    )


def test_a_row_that_another_row_of_its_file_asks_already_is_a_fault() -> None:
    files, ref = read_with(HERE, None)
    book = freeze(files, ref)
    unaided = book.moves[Move.WALK].options[0]
    weaker = Need("unaided.again", Axis.COOPERATION, "prompted", "why", CITED)
    doubled = with_first_option(book, replace(unaided, requires=(*unaided.requires, weaker)))
    (said,) = rules_check.idle(files, doubled)
    assert said.startswith("moves/walk with unaided: of `unaided.cooperation` and `unaided.again`")
    helpers = (*unaided.more_helpers, unaided.more_helpers[-1])
    doubled = with_first_option(book, replace(unaided, more_helpers=helpers))
    assert [said.endswith("the same helpers") for said in rules_check.idle(files, doubled)] == [
        True
    ]


def test_the_overlay_of_the_documents_is_accepted(tmp_path: Path) -> None:
    told = (ROOT / "docs" / "overlay.md").read_text(encoding="utf-8")
    overlay = tmp_path / "ours.toml"
    overlay.write_text(told.partition("```toml\n")[2].partition("```")[0], encoding="utf-8")
    assert rules_check.run(Namespace(json=True, path=HERE, overlay=overlay)) == DONE


def test_another_folder_can_be_checked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert rules_check.run(Namespace(json=True, path=tmp_path, overlay=None)) == CHECK_FAILED
    assert "plan.toml: " in json.loads(capsys.readouterr().out)["faults"][0]


def test_a_stricter_limit_implies_a_looser_one_and_not_the_other_way() -> None:
    assert rules_check.implies(limit("at_least", 20), limit("at_least", 10))
    assert not rules_check.implies(limit("at_least", 10), limit("at_least", 20))
    assert rules_check.implies(limit("below", 10), limit("at_most", 10))
    assert not rules_check.implies(limit("at_most", 10), limit("below", 10))
    assert not rules_check.implies(limit("at_least", 10), limit("at_most", 10))


def test_a_need_implies_an_either_or_that_holds_it() -> None:
    need = Need("a.need", Axis.ARMS, "both", "why", CITED)
    either = AnyOf("a.any", (need, limit("below", 1)), "why", CITED)
    assert rules_check.implies(need, either)
    assert not rules_check.implies(either, need)


def test_it_is_asked_for_on_the_command_line() -> None:
    assert parser().parse_args(["rules", "check"]).run is rules_check.run
