"""What of a CarePlan is promised, and what is never sent?"""

from service.fhir.definitions.plan_profile import care_plan
from service.fhir.overrule import BEGIN, LESS
from tests.fhir.answers import SITE

TOLD = {one.id: one for one in care_plan(SITE)}
DETAIL = "CarePlan.activity.detail"


def test_nothing_in_a_plan_can_be_taken_for_an_order_or_turned_round_by_a_modifier() -> None:
    assert TOLD["CarePlan.activity.reference"].max == "0"
    assert TOLD[f"{DETAIL}.doNotPerform"].max == "0"
    assert TOLD["CarePlan.intent"].fixed_code == "plan"


def test_an_activity_says_its_method_in_our_codes_and_in_words() -> None:
    code = TOLD[f"{DETAIL}.code"]
    assert code.min == 1
    assert code.binding is not None
    assert (code.binding.strength, code.binding.value_set) == (
        "required",
        f"{SITE.canonical}/ValueSet/method",
    )
    assert TOLD[f"{DETAIL}.description"].min == 1


def test_the_move_is_always_told_and_only_accessories_may_be_several() -> None:
    slices = {
        name.rpartition(":")[2]: (one.min, one.max)
        for name, one in TOLD.items()
        if name.startswith(f"{DETAIL}.extension:")
    }
    assert slices["move"] == (1, "1")
    assert [name for name, (_, most) in slices.items() if most is None] == ["accessory"]
    assert "correction-reason" not in slices


def test_a_plan_has_an_end_and_an_author() -> None:
    for name in ("period", "period.start", "period.end", "author", "subject.identifier"):
        assert TOLD[f"CarePlan.{name}"].min == 1


def test_whoever_reads_the_words_alone_knows_of_a_clinicians_choice_and_of_less_support() -> None:
    rules = {one.key: one for one in TOLD[DETAIL].constraint}
    assert rules["stn-plan-2"].expression.count(f"{SITE.canonical}/CodeSystem/method") == 2
    assert f"description.startsWith('{BEGIN}')" in rules["stn-plan-3"].expression
    assert f"description.contains('{LESS}')" in rules["stn-plan-4"].expression
    assert {one.severity for one in rules.values()} == {"error"}
    assert TOLD[f"{DETAIL}.extension:overrule"].min == 0
    assert TOLD[f"{DETAIL}.extension:overrule"].max == "1"
