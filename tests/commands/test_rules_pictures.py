"""Does each picture hold the decision that the rules make, and nothing twice?"""

import re

import pytest

from service.commands.rules_pages import words
from service.commands.rules_pictures import (
    LEFT_OUT,
    method_picture,
    move_picture,
    norm_picture,
)
from service.domain.move import Move
from service.rules.load import load_book

BOOK = load_book()
NODE = re.compile(r'(\w+)(?:\{|\[|\(\[)"')
ARROW = re.compile(r"(\w+)(?:\{\".*\"\})? -->(?:\|[^|]+\|)? (\w+)")


@pytest.mark.parametrize("name", BOOK.methods)
def test_a_method_asks_everything_it_requires_and_each_answer_leads_somewhere(name: str) -> None:
    method = BOOK.methods[name]
    told = "\n".join(method_picture(BOOK, method)).replace("'", '"')
    assert all(words(BOOK, each).replace("'", '"') in told for each in method.requires)
    drawn = told.split("```")[1]
    nodes, arrows = set(NODE.findall(drawn)), ARROW.findall(drawn)
    assert {end for arrow in arrows for end in arrow} <= nodes
    assert all(node == "this" or node in {end for a in arrows for end in a} for node in nodes)


def test_what_another_requirement_holds_already_is_not_asked_twice() -> None:
    drawn = "\n".join(move_picture(BOOK, BOOK.moves[Move.BED_TO_CHAIR]))
    first = next(line for line in drawn.splitlines() if line.lstrip().startswith("q0{"))
    assert first.count("May be moved now") == 1
    assert "May be moved now: at least “May be moved”" in first


def test_the_picture_of_a_move_says_what_it_leaves_out() -> None:
    assert LEFT_OUT in move_picture(BOOK, BOOK.moves[Move.WALK])


def test_a_judgement_is_drawn_from_its_first_cut_to_the_outcome_of_everybody_else() -> None:
    drawn = norm_picture(BOOK.norms["gait_speed"])
    perry = [line.strip() for line in drawn if re.match(r" *r0", line)]
    assert [line.split(" ", 1)[0] for line in perry] == [
        'r0(["Gait',
        "r0",
        "r0q0",
        "r0q0",
        "r0q1",
        "r0q1",
    ]
    assert '{"< 0.4 m/s"}' in perry[1] and '{"<= 0.8 m/s"}' in perry[3]
    assert perry[-1].startswith("r0q1 -->|no| r0o[")


def test_cuts_for_different_people_that_say_the_same_are_one_step() -> None:
    drawn = "\n".join(norm_picture(BOOK.norms["hand_grip"]))
    assert drawn.count("-->|yes|") == 1
    assert "< 27 kg male or < 16 kg female" in drawn


def test_a_test_without_a_judgement_has_no_picture() -> None:
    assert norm_picture(BOOK.norms["timed_stand"]) == []
