"""Does every word of the rule book that can leave have its code, with what it rests on?"""

from service.domain.axis import GRADES, UNKNOWN
from service.domain.requirement import AnyOf
from service.fhir.own_rule_codes import rule_systems
from tests.fhir.answers import BOOK

SYSTEMS = {one.kind: one for one in rule_systems(BOOK)}


def test_every_method_move_and_device_class_is_a_code_with_its_title() -> None:
    told = {name: code.display for name, code in SYSTEMS["method"].codes.items()}
    assert told == {name: method.title for name, method in BOOK.methods.items()}
    assert set(SYSTEMS["move"].codes) == {move.value for move in BOOK.moves}
    assert set(SYSTEMS["device-class"].codes) == set(BOOK.device_classes)


def test_every_requirement_of_every_option_is_a_rule_with_its_source() -> None:
    rules = SYSTEMS["rule"].codes
    for moves in BOOK.moves.values():
        for option in moves.options:
            for one in option.requires:
                parts = one.parts if isinstance(one, AnyOf) else ()
                for asked in (one, *parts):
                    code = rules[asked.rule]
                    assert code.source == asked.citation.source
                    assert code.standing == asked.citation.standing.value


def test_a_missing_helper_or_device_has_a_rule_too() -> None:
    rules = SYSTEMS["rule"].codes
    for method in BOOK.methods.values():
        assert (f"{method.id}.helpers" in rules) is (method.helpers is not None)
        assert (f"{method.id}.device" in rules) is (method.device_class is not None)


def test_grades_keep_their_order_and_not_known_is_none_of_them() -> None:
    for axis, grades in GRADES.items():
        codes = SYSTEMS[f"grade-{axis.value}".replace("_", "-")].codes
        assert tuple(codes) == tuple(grade for grade in grades if grade != UNKNOWN)
        assert [code.rank for code in codes.values()] == list(range(len(codes)))


def test_every_outcome_of_every_norm_is_a_judgement_with_its_source() -> None:
    judged = SYSTEMS["judgement"].codes
    norm = BOOK.norms["gait_speed"].rules[0]
    for outcome, told in norm.outcomes.items():
        assert judged[f"gait_speed.{norm.id}.{outcome}"].display == told
    assert all(code.source and code.standing for code in judged.values())


def test_a_score_under_another_code_says_how_it_differs() -> None:
    tests = SYSTEMS["test"].codes
    assert tests["gait_speed_4m"].display == "Gait speed, over 4 m"
    assert tests["chair_stand_30s_arms_used"].display.endswith("with the arms used")


def test_yes_and_no_are_no_part_of_a_score() -> None:
    parts = SYSTEMS["test-part"].codes
    assert "chair_stand_30s.count" in parts
    assert "chair_stand_30s.arms_used" not in parts
    assert "sppb.gait" in parts or any(part.startswith("sppb.") for part in parts)
