"""Does every rule of sense have one wording, and is every one used?"""

import re
from pathlib import Path

import service.domain
from service.domain.sense_rules import RULES, fault

HERE = Path(service.domain.__file__).parent


def test_a_fault_carries_the_wording_of_its_rule() -> None:
    one = fault("/patient/pregnant", "sense.pregnant_male")
    assert (one.path, one.rule, one.text) == (
        "/patient/pregnant",
        "sense.pregnant_male",
        RULES["sense.pregnant_male"],
    )


def test_every_rule_of_the_table_is_applied_somewhere() -> None:
    applied = {
        word
        for file in HERE.glob("sense*.py")
        if file.name != "sense_rules.py"
        for word in re.findall(r"sense\.[a-z0-9_]+", file.read_text(encoding="utf-8"))
    }
    assert set(RULES) == {word for word in applied if word in RULES}
    assert set(RULES) <= applied


def test_every_wording_is_a_sentence() -> None:
    assert all(text.endswith(".") and text[0].isalpha() for text in RULES.values())
