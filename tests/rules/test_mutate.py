"""Is every rule weakened by every single step, and by nothing else?"""

from decimal import Decimal

import pytest
from msgspec.structs import replace

from service.domain.axis import GRADES, Axis
from service.domain.plan import RuleBookRef
from service.domain.requirement import Limit
from service.rules.load import HERE, freeze
from service.rules.mutate import Mutant, mutants, without_words
from service.rules.reading import RuleFiles, read_files


@pytest.fixture(scope="module")
def files() -> RuleFiles:
    return read_files(HERE)


@pytest.fixture(scope="module")
def found(files: RuleFiles) -> dict[str, Mutant]:
    return {mutant.id: mutant for mutant in mutants(files)}


def steps(found: dict[str, Mutant], place: str, start: str) -> list[str]:
    told = [each.step for each in found.values() if each.place == place]
    return [step for step in told if step.startswith(start)]


def test_every_weakening_has_a_name_of_its_own(files: RuleFiles, found: dict[str, Mutant]) -> None:
    assert len(list(mutants(files))) == len(found)


def test_every_requirement_and_helper_rule_is_removed_once(
    files: RuleFiles, found: dict[str, Mutant]
) -> None:
    rules = [each for each in found.values() if each.place.startswith(("methods", "moves"))]
    removed = [
        each
        for each in rules
        if each.step.endswith(": removed") and not each.step.startswith("accessory")
    ]
    methods = [len(each.requires) + len(each.more_helpers) for each in files.methods.values()]
    moves = [len(each.requires) + len(each.more_helpers) for each in files.moves.values()]
    assert len(removed) == sum(methods) + sum(moves)


def test_a_grade_is_lowered_by_one_and_never_to_unknown(found: dict[str, Mutant]) -> None:
    assert steps(found, "methods/stand_aid", "requires rise") == [
        "requires rise at_least with_hands: removed",
        "requires rise at_least with_hands: rise at_least steadied",
    ]
    lowered = found["methods/stand_aid: requires rise at_least with_hands: rise at_least steadied"]
    asked = {each.need: each.at_least for each in lowered.files.methods["stand_aid"].requires}
    assert asked[Axis.RISE] == "steadied"
    assert not any("at_least unknown" in each for each in found)


def test_a_limit_is_moved_towards_the_easier_side_for_one_rule_alone(
    found: dict[str, Mutant],
) -> None:
    said = "requires standing_time_s at_least stand_30_s"
    assert steps(found, "methods/standby", said) == [
        f"{said}: removed",
        f"{said}: standing_time_s at_least 29.9",
        f"{said}: standing_time_s at_least 27.0",
    ]
    easier = found[f"methods/standby: {said}: standing_time_s at_least 27.0"]
    book = freeze(easier.files, RuleBookRef("1", "x"))

    def asked(method: str) -> int:
        requires = book.methods[method].requires
        limits = [each for each in requires if isinstance(each, Limit)]
        return next(each.value for each in limits if each.number == "standing_time_s")

    assert (asked("standby"), asked("belt_steadied")) == (270, 300)


def test_a_limit_of_nothing_is_moved_by_a_tenth_only(found: dict[str, Mutant]) -> None:
    said = "requires helper_lift_kg at_most nothing_lifted_kg"
    assert steps(found, "methods/standby", said) == [
        f"{said}: removed",
        f"{said}: helper_lift_kg at_most 0.1",
    ]


def test_one_of_several_ways_is_weakened_at_a_time(found: dict[str, Mutant]) -> None:
    said = "requires no deeply_sedated or mass_kg at_most anaesthetised_sheet_up_to_kg"
    assert steps(found, "methods/slide_sheet", said) == [
        f"{said}: removed",
        f"{said}: mass_kg at_most 71.1",
        f"{said}: mass_kg at_most 78.1",
    ]


def test_helpers_are_dropped_one_by_one(found: dict[str, Mutant]) -> None:
    assert "methods/sling_lift: helpers 2 -> 1" in found
    assert not steps(found, "methods/unaided", "helpers")
    assert not steps(found, "methods/do_not_move", "")
    always = "more helpers at least 2 (stand_aid)"
    assert steps(found, "moves/reposition_in_chair", always) == [
        f"{always}: removed",
        f"{always}: at least 1",
    ]
    lines = "more helpers 1 more unless no tubes_or_lines"
    assert steps(found, "methods/sling_lift", lines) == [f"{lines}: removed"]
    seated = "more helpers at least 2 unless sitting at_least unsupported"
    assert f"{seated}: unless sitting at_least supported" in steps(
        found, "methods/powered_stand_lift", seated
    )


def test_a_rule_for_several_methods_stops_standing_for_each(found: dict[str, Mutant]) -> None:
    said = "more helpers at least 3 unless mass_kg below heavy_from_kg"
    dropped = [s for s in steps(found, "moves/turn_in_bed", said) if ": not for " in s]
    assert [step.split(": not for ")[1] for step in dropped] == ["slide_sheet", "air_transfer_mat"]
    for step in dropped:
        (table,) = found[f"moves/turn_in_bed: {step}"].files.moves["turn_in_bed"].more_helpers
        assert step.split(": not for ")[1] not in table.methods


@pytest.mark.parametrize(
    ("parameter", "place", "values"),
    [
        ("spo2_withhold_below", "clearance", ["89.9", "89", "81.0"]),
        ("temperature_review_from", "clearance", ["38.6", "42.4"]),
        ("rass_flat_only_to", "clearance", ["-3.1", "-3.3", "-4"]),
        ("leg_mass_percent", "mass", ["15.8", "15.6", "17.3", "14.1"]),
    ],
)
def test_a_parameter_is_moved_away_from_its_stricter_side(
    found: dict[str, Mutant], parameter: str, place: str, values: list[str]
) -> None:
    moved = steps(found, f"parameters/{place}", f"{parameter} ")
    assert [step.split(" -> ")[1] for step in moved] == values
    mutant = found[f"parameters/{place}: {moved[0]}"]
    assert mutant.files.parameter_groups[place][parameter].value == Decimal(values[0])


def test_what_is_only_said_is_left_out(files: RuleFiles) -> None:
    silent = without_words(files)
    assert not any(each.steps or each.stop_signs for each in silent.methods.values())
    assert silent.methods["stand_aid"].requires == files.methods["stand_aid"].requires


def test_a_check_on_nothing_is_left_as_it_is(files: RuleFiles) -> None:
    """An absent condition can be removed, not asked less."""
    belt = files.methods["belt_steadied"]
    stoma = next(each for each in belt.requires if each.absent == "stoma")
    alone = replace(belt, requires=(stoma,), more_helpers=(), accessories=())
    only = replace(
        files, methods={"belt_steadied": alone}, moves={}, parameter_groups={}, test_norms={}
    )
    assert [each.step for each in mutants(only)] == [
        "helpers 1 -> 0",
        "requires no stoma: removed",
    ]


def test_the_lowest_known_grade_can_only_be_removed(files: RuleFiles) -> None:
    sling = files.methods["sling_lift"]
    lowest = replace(
        sling.requires[0], need=Axis.SITTING, at_least=GRADES[Axis.SITTING][1], absent=None
    )
    alone = replace(sling, requires=(lowest,), more_helpers=(), accessories=())
    only = replace(
        files, methods={"sling_lift": alone}, moves={}, parameter_groups={}, test_norms={}
    )
    assert [each.step for each in mutants(only)] == [
        "helpers 2 -> 1",
        "requires sitting at_least none: removed",
    ]


def test_every_accessory_is_removed_once_and_asked_for_less(
    files: RuleFiles, found: dict[str, Mutant]
) -> None:
    rules = sum(len(each.accessories) for each in files.methods.values())
    told = [each for each in found.values() if each.step.startswith("accessory")]
    assert len([each for each in told if each.step.endswith(": removed")]) == rules
    said = "accessory back_support_strap (Weak: a knee has no strength to spare)"
    assert steps(found, "methods/stand_aid", said) == [
        f"{said}: removed",
        f"{said}: unless knee_weaker at_least 3",
    ]
    weakened = found[f"methods/stand_aid: {said}: unless knee_weaker at_least 3"]
    kept = len(files.methods["stand_aid"].accessories)
    assert len(weakened.files.methods["stand_aid"].accessories) == kept


def test_the_norms_of_a_test_are_weakened_in_its_own_file(found: dict[str, Mutant]) -> None:
    told = [each for each in found.values() if each.place == "test_norms/hand_grip"]
    assert told
    name = "test_norms/timed_up_and_go: cdc: >= 12: 13"
    cut = found[name].files.test_norms["timed_up_and_go"].rules[0].cuts[0]
    assert (cut.holds, cut.value) == (">=", Decimal(13))
