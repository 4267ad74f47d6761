"""Does every cut point stand where its source puts it?"""

from decimal import Decimal

import pytest

from service.domain.citation import Standing
from tests.published.norm_table import CHANGES, EDGES, Edge, changes, shown
from tests.rules.measured import NORMS, judgement, score


@pytest.mark.parametrize("edge", EDGES, ids=lambda edge: edge.id)
def test_each_norm_falls_on_the_side_its_source_says(edge: Edge) -> None:
    assert shown(NORMS.norms, edge) == edge.shows


@pytest.mark.parametrize("age", [18, 59, 95, 130])
def test_chair_stand_says_that_there_is_no_norm_outside_60_to_94_years(age: int) -> None:
    raw = {"count": 9, "arms_used": False}
    found = judgement(score("chair_stand_30s", raw, age), "chair_stand_30s.cdc")
    assert found.note is not None
    assert found.note.startswith("No norm for this person")


def test_the_changes_that_count_are_the_published_ones() -> None:
    assert changes(NORMS.norms) == CHANGES


def test_an_important_change_below_the_detectable_one_is_only_possible() -> None:
    for norm in NORMS.norms.values():
        kinds = {each.kind: each for each in norm.change}
        important = kinds.get("minimal_important")
        if important is not None:
            assert important.value < kinds["minimal_detectable"].value
            assert important.claim == "possible"


def test_timed_standing_claims_no_change() -> None:
    assert NORMS.norms["timed_stand"].change == ()
    assert NORMS.norms["timed_stand"].no_change


def test_what_was_not_seen_says_that_it_is_recalled() -> None:
    recalled = {
        f"{test}.{rule.id}"
        for test, norm in NORMS.norms.items()
        for rule in norm.rules
        if rule.standing is Standing.RECALLED
    }
    assert recalled == {"gait_speed.cummings"}


def test_the_3_m_gait_cuts_are_nowhere_among_the_4_m_ones() -> None:
    cuts = {row.value for table in NORMS.norms["sppb"].points for row in table.rows}
    assert cuts.isdisjoint({Decimal("3.62"), Decimal("4.65"), Decimal("6.52")})
