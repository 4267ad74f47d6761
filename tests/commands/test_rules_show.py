"""Does a page say everything that is ruled, with its source, inside its width?"""

from argparse import Namespace

import pytest

from service.__main__ import parser
from service.commands import DONE, WRONG_USE, rules_show
from service.commands.rules_pages import NOTICE, words
from service.rules.load import load_book

BOOK = load_book()
NAMES = [*BOOK.methods, *BOOK.moves, *BOOK.norms, *BOOK.conditions]


@pytest.mark.parametrize("name", NAMES)
def test_every_page_fits_and_says_what_comes_first(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert rules_show.run(Namespace(name=name)) == DONE
    told = capsys.readouterr().out
    assert NOTICE in told
    assert max(map(len, told.splitlines())) <= rules_show.WIDTH


@pytest.mark.parametrize("name", BOOK.methods)
def test_a_method_page_says_each_rule_and_its_source(name: str) -> None:
    told = "\n".join(rules_show.page(BOOK, name) or [])
    method = BOOK.methods[name]
    for each in method.requires:
        assert words(BOOK, each) in told
        assert BOOK.sources[each.citation.source].title in told
    texts = [step.text for step in method.steps]
    texts += [said.text for said in (*method.cautions, *method.stop_signs)]
    assert all(text in told for text in texts)


def test_an_unknown_name_is_wrong_use(capsys: pytest.CaptureFixture[str]) -> None:
    assert rules_show.run(Namespace(name="teleport")) == WRONG_USE
    assert "teleport" in capsys.readouterr().err


def test_it_is_asked_for_on_the_command_line() -> None:
    assert parser().parse_args(["rules", "show", "walk"]).run is rules_show.run
