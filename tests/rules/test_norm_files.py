"""Is a norm file that makes no sense refused, and does every citation have its source?"""

from typing import Any

import msgspec
import pytest

from service.domain.citation import Standing
from service.rules.files import SourceFile
from service.rules.norm_files import NormFile
from tests.rules.measured import NORMS, RULES

CITED = {"source": "someone_2020", "standing": "published"}
RULE: dict[str, Any] = CITED | {
    "id": "cut",
    "cuts": [{"holds": "<", "value": "5", "outcome": "low"}],
    "otherwise": "not_low",
    "outcomes": {"low": "Under five", "not_low": "Five or more"},
}
POINTS: dict[str, Any] = CITED | {
    "reads": "second",
    "gives": "part",
    "rows": [{"holds": "<", "value": "5", "points": 1}],
    "otherwise": 0,
    "unable": 0,
}


def _norm(**parts: Any) -> NormFile:
    return msgspec.convert({"title": "A test", "unit": "s", **parts}, NormFile)


def test_a_rule_with_texts_for_its_outcomes_is_read() -> None:
    assert _norm(rules=[RULE]).rules[0].cuts[0].outcome == "low"


@pytest.mark.parametrize(
    ("changed", "complaint"),
    [
        ({"outcomes": {"low": "Under five"}}, "its outcomes and their texts differ"),
        ({"outcomes": RULE["outcomes"] | {"odd": "Unused"}}, "its outcomes and their texts"),
        ({"unable": "lowest"}, "its outcomes and their texts differ"),
        ({"no_norm": "No norm for this person."}, "no_norm belongs to cuts for some"),
        ({"cuts": []}, "length >= 1"),
        ({"cuts": [{"holds": "==", "value": "5", "outcome": "low"}]}, "Invalid enum value"),
        ({"weight": 3}, "unknown field `weight`"),
    ],
)
def test_a_rule_at_fault_is_refused_with_its_place(changed: dict[str, Any], complaint: str) -> None:
    with pytest.raises(msgspec.ValidationError, match=complaint) as caught:
        _norm(rules=[RULE | changed])
    assert "$.rules[0]" in str(caught.value)


@pytest.mark.parametrize("limit", [{"sex": "male"}, {"age_from": 60}, {"age_to": 94}])
def test_cuts_for_some_persons_need_a_word_for_the_others(limit: dict[str, Any]) -> None:
    cuts = [RULE["cuts"][0] | limit]
    with pytest.raises(msgspec.ValidationError, match="no_norm belongs"):
        _norm(rules=[RULE | {"cuts": cuts}])
    told = RULE | {"cuts": cuts, "no_norm": "No norm for this person."}
    assert _norm(rules=[told]).rules[0].no_norm == "No norm for this person."


def test_two_rules_with_one_id_are_refused() -> None:
    with pytest.raises(msgspec.ValidationError, match="two rules have one id"):
        _norm(rules=[RULE, RULE])


def test_points_that_wait_for_a_part_not_read_before_are_refused() -> None:
    waiting = POINTS | {"after": "first"}
    with pytest.raises(msgspec.ValidationError, match="first is not read before"):
        _norm(points=[waiting, POINTS | {"reads": "first"}])
    in_order = _norm(points=[POINTS | {"reads": "first"}, waiting])
    assert in_order.points[1].after == "first"


def test_a_value_is_published_only_where_its_source_was_seen() -> None:
    for norm in NORMS.norms.values():
        cited = [(each.source, each.standing) for each in norm.rules]
        cited += [(each.source, each.standing) for each in norm.points]
        cited += [(each.source, each.standing) for each in norm.fixed]
        cited += [(each.source, each.standing) for each in norm.change]
        for source, standing in cited:
            path = RULES / "sources" / f"{source}.toml"
            seen = msgspec.toml.decode(path.read_bytes(), type=SourceFile).seen
            assert (seen in {"primary", "restatement"}) is (standing is Standing.PUBLISHED)


def test_two_cuts_for_people_of_one_age_are_refused() -> None:
    def cut(first: int, last: int, **more: str) -> dict[str, Any]:
        one: dict[str, Any] = RULE["cuts"][0]
        return one | {"age_from": first, "age_to": last} | more

    def rule(*cuts: dict[str, Any]) -> dict[str, Any]:
        return RULE | {"cuts": cuts, "no_norm": "No norm for this person."}

    with pytest.raises(msgspec.ValidationError, match="two cuts stand for people of one age"):
        _norm(rules=[rule(cut(60, 64), cut(64, 69))])
    assert _norm(rules=[rule(cut(60, 64), cut(65, 69))]).rules[0].cuts[1:]
    both = rule(cut(60, 64, sex="male"), cut(60, 64, sex="female"))
    assert _norm(rules=[both]).rules[0].cuts[1:]
