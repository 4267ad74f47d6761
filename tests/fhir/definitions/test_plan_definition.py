"""Does the published plan say for each move which methods there are, least supported first?"""

from service.domain.move import Move
from service.fhir.care_plan import care_plan_of
from tests.fhir.answers import BARE, BOOK, SITE, answer_to
from tests.fhir.definitions.published import PLAIN

PLAN = PLAIN["PlanDefinition/safe-patient-handling"]
ACTIONS = {one["code"][0]["coding"][0]["code"]: one for one in PLAN["action"]}


def test_a_plan_of_ours_points_to_it() -> None:
    answer = answer_to(BARE)
    (named,) = care_plan_of(SITE, answer.plan, answer.screen).instantiates_canonical
    assert named == f"{PLAN['url']}|{PLAN['version']}"


def test_there_is_one_action_a_move_and_exactly_one_method_is_taken() -> None:
    assert set(ACTIONS) == {move.value for move in Move}
    for one in ACTIONS.values():
        assert one["selectionBehavior"] == "exactly-one"


def test_the_methods_of_a_move_stand_in_the_order_of_support() -> None:
    for move, rules in BOOK.moves.items():
        choices = ACTIONS[move.value]["action"]
        assert [one["definitionCanonical"] for one in choices] == [
            SITE.definition("ActivityDefinition", option.method.id) for option in rules.options
        ]


def test_a_method_says_what_it_asks_and_the_last_one_asks_nothing() -> None:
    for move, rules in BOOK.moves.items():
        choices = ACTIONS[move.value]["action"]
        for choice, option in zip(choices, rules.options, strict=True):
            for rule in option.requires:
                assert rule.why in choice["description"]
        assert choices[-1]["description"] == "Always open: nothing is asked of the person."
        assert choices[-1]["code"][0]["coding"][0]["code"] == "do_not_move"


def test_every_goal_and_every_source_of_the_rules_is_told() -> None:
    goals = [one["description"]["coding"][0]["code"] for one in PLAN["goal"]]
    assert goals == [goal.id for goal in BOOK.goals]
    labels = {one["label"] for one in PLAN["relatedArtifact"]}
    assert {method.citation.source for method in BOOK.methods.values()} <= labels


def test_the_narrative_names_every_move_and_what_the_plan_is_not() -> None:
    told = PLAN["text"]["div"]
    for rules in BOOK.moves.values():
        assert f"<h3>{rules.title}</h3>" in told
    assert "does not replace clinical judgement" in told
