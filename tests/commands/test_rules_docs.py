"""Are the pages whole, the same each time, and is a stale one found?"""

from argparse import Namespace
from pathlib import Path

import pytest

from service.__main__ import parser
from service.commands import CHECK_FAILED, DONE, rules_docs
from service.commands.rules_pages import NOTICE
from service.rules.load import load_book

BOOK = load_book()


def test_each_method_move_and_test_has_its_page() -> None:
    made = rules_docs.pages(BOOK)
    assert len(made) == len(BOOK.methods) + len(BOOK.moves) + len(BOOK.norms) + 1
    assert all(NOTICE in page for page in made.values())
    assert made == rules_docs.pages(BOOK)


def test_the_picture_of_a_move_holds_its_methods_in_their_order() -> None:
    made = rules_docs.pages(BOOK)
    for move, rules in BOOK.moves.items():
        drawn = made[f"moves/{move}.md"].split("```")[1]
        at = [drawn.index(f' m{place}["') for place in range(len(rules.options))]
        assert at == sorted(at)
        assert drawn.count("|yes|") == len(rules.options)


def test_what_is_written_is_current_until_it_is_changed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    check, write = (Namespace(folder=tmp_path, check=each) for each in (True, False))
    assert rules_docs.run(check) == CHECK_FAILED
    assert rules_docs.run(write) == DONE
    assert rules_docs.run(check) == DONE
    (tmp_path / "methods" / "gone.md").write_text("old", encoding="utf-8")
    (tmp_path / "index.md").write_text("old", encoding="utf-8")
    capsys.readouterr()
    assert rules_docs.run(check) == CHECK_FAILED
    assert capsys.readouterr().err.count("is not current") == 2
    assert rules_docs.run(write) == DONE
    assert not (tmp_path / "methods" / "gone.md").exists()


def test_it_is_asked_for_on_the_command_line() -> None:
    assert parser().parse_args(["rules", "docs", "--check"]).run is rules_docs.run
