"""Is what is kept read back as it was written?"""

from decimal import Decimal
from typing import Any

import msgspec
import pytest
from msgspec.structs import replace

from service.domain.axis import Axis, Number
from service.domain.citation import Citation, Source, Standing
from service.domain.condition import Condition
from service.domain.plan import Plan, PlanState
from service.domain.profile import AxisGrade, Finding, Profile
from service.domain.reason import Change, Reason, RuledOut, Status, WouldOpen
from service.domain.record import Page, PatientRecord, PlanEvent, PlanEventKind
from service.domain.requirement import Absent, AnyOf, Limit, Need, Requirement
from service.domain.score import Judgement, TestScore
from tests.domain.plans import PLAN, events
from tests.domain.structs import structs_of
from tests.rules.profiles import profile


def again(kept: Any, kind: Any) -> Any:
    return msgspec.json.decode(msgspec.json.encode(kept), type=kind)


def test_a_plan_and_its_events_come_back_the_same() -> None:
    assert again(PLAN, Plan) == PLAN
    happened = events(*PlanEventKind)
    assert again(happened, tuple[PlanEvent, ...]) == happened


def test_a_profile_comes_back_the_same() -> None:
    seen = profile({Axis.RISE: "lifted"}, {Number.MASS_KG: Decimal("72.50")}, Condition.STOMA)
    finding = Finding("/stages/rise/help", "lifting", "rise", "somewhere", Standing.PRACTICE, "0")
    told = replace(seen, axes=seen.axes | {Axis.RISE: AxisGrade("lifted", (finding,))})
    assert again(told, Profile) == told
    assert str(again(told, Profile).numbers[Number.MASS_KG].value) == "72.50"


def test_a_test_score_comes_back_the_same() -> None:
    judged = Judgement("a.b", "< 12 s", None, "Nothing", "somewhere", Standing.RECALLED, "No norm")
    score = TestScore("a", "A test", Decimal("0.80"), "m/s", (judged,), {"part": Decimal("1.10")})
    assert again(score, TestScore) == score


@pytest.mark.parametrize("status", Status)
def test_what_was_ruled_out_comes_back_the_same(status: Status) -> None:
    reason = Reason("m.a", "arms", "one", "at least both", status, "Pulls", "b", Standing.DEFAULT)
    ruled_out = RuledOut("stand_aid", (reason,))
    assert again(ruled_out, RuledOut) == ruled_out
    opens = WouldOpen("stand_aid", (Change("arms", "one", "at least both"),))
    assert again(opens, WouldOpen) == opens


CITED = Citation("somewhere", Standing.PRACTICE)
NEED = Need("m.arms", Axis.ARMS, "both", "Pulls", CITED)
ABSENT = Absent("m.no_stoma", Condition.STOMA, "Not over a stoma", CITED)
LIMIT = Limit("m.mass_kg", Number.MASS_KG, "below", "heavy", 907, "Light enough", CITED)


@pytest.mark.parametrize(
    "requirement", [NEED, ABSENT, LIMIT, AnyOf("m.any", (NEED, ABSENT, LIMIT), "Any", CITED)]
)
def test_a_requirement_comes_back_in_its_own_form(requirement: Requirement) -> None:
    assert again(requirement, Requirement) == requirement


def test_a_page_comes_back_with_its_cursor() -> None:
    page = Page((PatientRecord("a", None), PatientRecord("b", "plan-1", "a")), "more")
    assert again(page, Page[PatientRecord]) == page


@pytest.mark.parametrize(
    "kind",
    [*structs_of(Plan), *structs_of(Profile), *structs_of(Citation), *structs_of(Source)],
)
def test_nothing_that_is_kept_can_be_changed(kind: type[msgspec.Struct]) -> None:
    assert kind.__struct_config__.frozen


def test_every_state_a_reason_and_a_plan_can_be_in_is_known() -> None:
    assert set(Status) == {"met", "unmet", "unknown", "forbidden", "missing"}
    assert set(PlanState) == {"current", "lapsed", "superseded", "withdrawn"}
    assert set(Standing) == {"published", "recalled", "practice", "default"}
