"""Does the form hide exactly what the stop rule closes, and what belongs to no other answer?"""

from itertools import product
from typing import Any

import pytest

from service.domain.orders import Limb
from service.domain.stages import Attempt, Outcome, Rise, Sides, Stage, Stages
from service.domain.stop_rule import STANDING, closed_stages
from service.fhir.definitions.questionnaire import questionnaire
from service.fhir.definitions.shown_when import REQUIRED_WHEN_SHOWN, shown_when
from service.fhir.encode import bytes_of
from tests.fhir.answers import SITE
from tests.fhir.definitions.shown import shown
from tests.fhir.validators import read

FORM = read(bytes_of(questionnaire(SITE)))
SYSTEM = "https://stanchion.example/fhir/CodeSystem/"
SIDED = STANDING[1:]
PAIRS = list(product(Outcome, repeat=2))


def coding(kind: str, code: str) -> dict[str, Any]:
    return {"system": f"{SYSTEM}{kind}", "code": code}


def answers(stages: Stages) -> dict[str, list[Any]]:
    """Each outcome as it stands in a form that is open: not attempted is an answer."""
    found = {"stages.rise.outcome": [coding("outcome", stages.rise.outcome)]}
    for stage in SIDED:
        for side in ("left", "right"):
            outcome = getattr(getattr(stages, stage), side).outcome
            found[f"stages.{stage}.{side}.outcome"] = [coding("outcome", outcome)]
    return found


def sides(pair: tuple[Outcome, ...]) -> Sides:
    return Sides(left=Attempt(outcome=pair[0]), right=Attempt(outcome=pair[1]))


@pytest.mark.parametrize("rise", Outcome)
def test_a_stage_is_shown_exactly_where_the_stop_rule_leaves_it_open(rise: Outcome) -> None:
    for shift, heel in product(PAIRS, PAIRS):
        stages = Stages(rise=Rise(outcome=rise), weight_shift=sides(shift), heel_raise=sides(heel))
        visible = shown(FORM, answers(stages))
        closed = closed_stages(stages)
        for stage in SIDED:
            for side in ("left", "right"):
                link = f"stages.{stage}.{side}.outcome"
                assert (link in visible) is (stage not in closed), (stages, link)
        assert ("stages.timed_stand.seconds" in visible) is (Stage.TIMED_STAND not in closed)


def test_an_empty_form_asks_for_the_rise_and_nothing_after_it() -> None:
    visible = shown(FORM, {})
    assert "stages.rise.outcome" in visible
    assert not any(link.startswith("stages.weight_shift") for link in visible)
    assert "stages.timed_stand.seconds" not in visible


def test_help_is_asked_for_where_it_was_given_and_a_load_where_it_was_held() -> None:
    helped = {"stages.rise.outcome": [coding("outcome", "achieved_with_help")]}
    assert "stages.rise.help" in shown(FORM, helped)
    assert "stages.rise.lift_kg" not in shown(FORM, helped)
    lifted = {**helped, "stages.rise.help": [coding("help", "lifting")]}
    assert {"stages.rise.lift_kg", "stages.rise.lift_percent"} <= shown(FORM, lifted)
    alone = {"stages.rise.outcome": [coding("outcome", "achieved")]}
    assert "stages.rise.help" not in shown(FORM, alone)
    assert "stages.rise.lift_kg" not in shown(FORM, {**lifted, **alone})


def test_an_age_is_asked_for_only_without_a_birth_date() -> None:
    assert "patient.age_years" in shown(FORM, {})
    assert "patient.age_years" not in shown(FORM, {"patient.birth_date": ["1948-03-02"]})


@pytest.mark.parametrize(
    ("link", "needs", "answer"),
    [
        ("patient.mass_measured_at", "patient.mass_kg", {"value": 70}),
        ("patient.stature_measured_at", "patient.stature_cm", {"value": 170}),
        ("stages.timed_stand.ended_by", "stages.timed_stand.seconds", {"value": 30}),
    ],
)
def test_what_is_said_of_a_value_is_asked_for_beside_one(
    link: str, needs: str, answer: Any
) -> None:
    risen = {"stages.rise.outcome": [coding("outcome", "achieved")]}
    assert link not in shown(FORM, risen)
    assert link in shown(FORM, {**risen, needs: [answer]})


def test_a_percentage_belongs_to_a_partial_order() -> None:
    link = "orders.weight_bearing.left_leg"
    partial = {f"{link}.order": [coding("weight-bearing-order", "PWB")]}
    none = {f"{link}.order": [coding("weight-bearing-order", "NWB")]}
    assert f"{link}.percent" in shown(FORM, partial)
    assert f"{link}.percent" not in shown(FORM, none)


@pytest.mark.parametrize("limb", Limb)
def test_a_prosthesis_is_asked_for_only_where_a_limb_is_gone(limb: Limb) -> None:
    lost = {"orders.precautions": [coding("precaution", f"amputation_{limb}")]}
    assert "orders.prosthesis_worn" in shown(FORM, lost)
    assert "orders.prosthesis_worn" not in shown(
        FORM, {"orders.precautions": [coding("precaution", "hip")]}
    )


def test_every_condition_is_about_an_item_that_stands_before() -> None:
    order = list(links(FORM["item"]))
    for link, conditions in shown_when().items():
        for seen in conditions:
            assert order.index(seen.question) < order.index(link)


def test_what_is_required_once_it_is_shown_is_not_always_shown() -> None:
    assert set(shown_when()) >= REQUIRED_WHEN_SHOWN


def links(items: list[dict[str, Any]]) -> list[str]:
    return [link for one in items for link in (one["linkId"], *links(one.get("item", [])))]
