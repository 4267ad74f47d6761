"""Are the pages whole, the same each time, and is a stale one found?"""

from argparse import Namespace
from pathlib import Path

import pytest

from service.__main__ import parser
from service.commands import CHECK_FAILED, DONE, rules_docs
from service.commands.rules_pages import NOTICE
from service.rules.load import load_book

BOOK = load_book()


def test_each_method_move_test_and_condition_has_its_page() -> None:
    made = rules_docs.pages(BOOK)
    things = len(BOOK.methods) + len(BOOK.moves) + len(BOOK.norms) + len(BOOK.conditions)
    assert len(made) == things + len(("index", "parameters"))
    assert all(NOTICE in page for page in made.values())
    assert made == rules_docs.pages(BOOK)


def test_the_picture_of_a_move_holds_its_methods_in_their_order() -> None:
    made = rules_docs.pages(BOOK)
    for move, rules in BOOK.moves.items():
        drawn = made[f"moves/{move}.md"].split("```")[1]
        at = [drawn.index(f' m{place}["') for place in range(len(rules.options))]
        assert at == sorted(at)
        assert drawn.count("|yes|") == len(rules.options)


def test_the_page_of_numbers_says_what_an_overlay_may_set() -> None:
    page = rules_docs.pages(BOOK)["parameters.md"]
    rows = {line.split("`")[1]: line.split(" | ") for line in page.splitlines() if "`" in line}
    assert set(rows) == set(BOOK.parameters)
    assert rows["spo2_withhold_below"][1::2] == ["90 %", "up to 96"]
    assert rows["stand_5_s"][1::2] == ["5 s", "down to 3, up to 10"]
    assert rows["leg_mass_percent"][3] == "not"


def test_a_condition_page_says_what_it_closes_and_whom_it_calls() -> None:
    made = rules_docs.pages(BOOK)
    stoma, lines = made["conditions/stoma.md"], made["conditions/tubes_or_lines.md"]
    closed = stoma.partition("## What it closes")[2]
    assert "Steadied with a transfer belt: Not with: Stoma. No belt over a stoma." in closed
    assert "1 more" in lines.partition("## Whom it calls")[2]


def test_a_limit_names_its_parameter() -> None:
    assert "at least 5 (`stand_5_s`)" in rules_docs.pages(BOOK)["methods/stand_aid.md"]


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
