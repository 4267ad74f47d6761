"""Is every cut point, count of points and change of a norm file weakened by every single step?"""

from decimal import Decimal
from typing import Any

import msgspec

from service.rules.mutate_norms import norm_mutants
from service.rules.norm_files import NormFile
from tests.rules.measured import NORMS

CITED = {"source": "someone_2020", "standing": "published"}


def _steps(**parts: Any) -> dict[str, NormFile]:
    norm = msgspec.convert({"title": "A test", "unit": "s", **parts}, NormFile)
    return dict(norm_mutants(norm))


def test_every_weakened_norm_differs_from_the_norm_and_has_a_name_of_its_own() -> None:
    for norm in NORMS.norms.values():
        found = list(norm_mutants(norm))
        assert len({name for name, _ in found}) == len(found)
        assert all(weakened != norm for _, weakened in found)


def test_a_cut_moves_by_its_last_digit_both_ways_and_takes_in_its_own_value_or_not() -> None:
    cut = {"holds": "<", "value": "4.82", "outcome": "low"}
    rule = CITED | {"id": "cut", "cuts": [cut], "otherwise": "high"}
    found = _steps(rules=[rule | {"outcomes": {"low": "Low.", "high": "High."}}])
    assert list(found) == [
        "cut: removed",
        "cut: < 4.82: <=",
        "cut: < 4.82: 4.81",
        "cut: < 4.82: 4.83",
    ]
    assert found["cut: removed"].rules == ()
    assert found["cut: < 4.82: <="].rules[0].cuts[0].holds == "<="
    assert found["cut: < 4.82: 4.81"].rules[0].cuts[0].value == Decimal("4.81")


def test_a_cut_that_is_removed_takes_the_words_of_its_outcome_along() -> None:
    cuts = [{"holds": "<", "value": v, "outcome": o} for v, o in (("1", "low"), ("2", "middle"))]
    outcomes = {"low": "Low.", "middle": "Middle.", "high": "High."}
    rule = CITED | {"id": "cut", "cuts": cuts, "otherwise": "high", "outcomes": outcomes}
    found = _steps(rules=[rule])
    assert set(found["cut: < 1: removed"].rules[0].outcomes) == {"middle", "high"}


def test_ages_move_by_a_year_but_never_into_those_of_another_cut() -> None:
    ages = ((60, 64), (65, 69))
    cuts = [
        {"holds": "<", "value": "9", "outcome": "low", "age_from": first, "age_to": last}
        for first, last in ages
    ]
    outcomes = {"low": "Low.", "high": "High."}
    rule = CITED | {"id": "cut", "cuts": cuts, "otherwise": "high", "outcomes": outcomes}
    found = _steps(rules=[rule | {"no_norm": "None."}])
    years = [name.removeprefix("cut: < 9 ") for name in found if "year" in name]
    assert years == [
        "60 64: a year later",
        "60 64: a year earlier",
        "60 64: a year less",
        "65 69: a year later",
        "65 69: a year less",
        "65 69: a year more",
    ]


def test_points_and_fixed_scores_and_changes_move_too() -> None:
    rows = [{"holds": "<=", "value": "5", "points": 1}, {"holds": "<=", "value": "9", "points": 0}]
    table = CITED | {"reads": "second", "gives": "part", "rows": rows, "otherwise": 0, "unable": 0}
    fixed = CITED | {"when": "arms_used", "score": "0", "why": "Arms"}
    change = CITED | {"id": "mdc", "kind": "minimal_detectable", "value": "3.6", "unit": "s"}
    found = _steps(points=[table], fixed=[fixed], change=[change | {"claim": "real"}])
    assert found["second: <= 5: a point less"].points[0].rows[0].points == 0
    assert "second: <= 9: a point less" not in found
    assert found["second: <= 9: a point more"].points[0].rows[1].points == 1
    assert found["second: <= 5: removed"].points[0].rows[0].value == 9
    assert found["second: unable a point more"].points[0].unable == 1
    assert found["second: otherwise a point more"].points[0].otherwise == 1
    assert found["arms_used: removed"].fixed == ()
    assert found["arms_used: a point more"].fixed[0].score == 1
    assert found["mdc: removed"].change == ()
    assert [found[f"mdc: {value}"].change[0].value for value in ("3.5", "3.7")] == [
        Decimal("3.5"),
        Decimal("3.7"),
    ]


def test_a_stance_that_no_longer_waits_for_the_easier_one_is_told() -> None:
    found = dict(norm_mutants(NORMS.norms["sppb"]))
    freed = found["tandem_s: not after semi_tandem_s"]
    assert next(each for each in freed.points if each.reads == "tandem_s").after is None
