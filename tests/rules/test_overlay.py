"""May a hospital change what is its own, make the published stricter, and nothing else?"""

from decimal import Decimal

import pytest
from msgspec.structs import replace

from service.domain.citation import Standing
from service.domain.requirement import Limit
from service.rules.load import HERE, freeze, read_book
from service.rules.overlay import SOURCE, ref_with, with_overlay
from service.rules.reading import BadRuleBook, RuleFiles, read_files

HEAD = 'title = "House rules"\nversion = "v1"\ndecided_by = "The safe handling board"\n'
FILES = read_files(HERE)


def settings(parameter: str, value: str, unit: str) -> str:
    return f'{HEAD}[parameters.{parameter}]\nvalue = "{value}"\nunit = "{unit}"\nwhy = "Decided"\n'


def laid(content: str) -> RuleFiles:
    return with_overlay(FILES, content.encode(), "ours.toml")


def refused(content: str) -> str:
    with pytest.raises(BadRuleBook) as refusal:
        laid(content)
    assert all(fault.startswith("ours.toml: ") for fault in refusal.value.faults)
    return str(refusal.value)


@pytest.mark.parametrize(
    ("parameter", "value", "unit"),
    [
        ("stand_10_s", "15", "s"),  # a default, stricter
        ("stand_60_s", "45", "s"),  # a default, looser, inside its bounds
        ("spo2_withhold_below", "92", "%"),  # published, higher is stricter
        ("heavy_from_kg", "80", "kg"),  # published, lower is stricter
        ("helper_lift_limit_kg", "15.9", "kg"),  # the same again
    ],
)
def test_what_is_stricter_or_a_default_may_be_set(parameter: str, value: str, unit: str) -> None:
    book = freeze(laid(settings(parameter, value, unit)), ref_with(read_book(HERE).ref, b"x"))
    held = book.parameters[parameter]
    assert held.value == Decimal(value)
    assert (held.source, held.standing) == (SOURCE, Standing.DEFAULT)
    assert held.note is not None
    assert held.note.startswith("Set locally: Decided.")
    assert book.sources[SOURCE].body == "The safe handling board"


@pytest.mark.parametrize(
    ("parameter", "value", "unit", "said"),
    [
        ("spo2_withhold_below", "88", "%", "is looser than the published 90"),
        ("heavy_from_kg", "95", "kg", "is looser than the published 90.7"),
        ("helper_lift_limit_kg", "20", "kg", "looser"),
        ("kg_a_pound", "0.5", "kg", "may not be changed"),
        ("odd_mass_above_kg", "350", "kg", "must not be above 300"),
        ("odd_mass_below_kg", "20", "kg", "must not be below 25"),
        ("stand_10_s", "15", "min", "the unit is s, not min"),
        ("stand_10_s", "10.5", "s", "is finer than 10"),
        ("stand_10_s", "NaN", "s", "or no number"),
        ("stand_5_s", "1", "s", "must not be below"),
        ("sitting_hold_s", "600", "s", "must not be above 60"),
        ("moonlight_s", "5", "s", "no parameter is called so"),
    ],
)
def test_what_is_looser_odd_or_unknown_is_refused_with_the_reason(
    parameter: str, value: str, unit: str, said: str
) -> None:
    told = refused(settings(parameter, value, unit))
    assert f"parameters.{parameter}" in told
    assert said in told


@pytest.mark.parametrize(("value", "side"), [("150", "lower"), ("250", "higher")])
def test_a_default_that_says_no_bound_may_not_be_set_at_all(value: str, side: str) -> None:
    files = read_files(HERE)
    group = files.parameter_groups["plausible"]
    free = replace(group["odd_mass_above_kg"], lowest=None, highest=None)
    groups = files.parameter_groups | {"plausible": group | {"odd_mass_above_kg": free}}
    content = settings("odd_mass_above_kg", value, "kg").encode()
    with pytest.raises(BadRuleBook, match=f"no bound for {side} values"):
        with_overlay(replace(files, parameter_groups=groups), content, "ours.toml")


def test_an_order_between_parameters_is_kept() -> None:
    with pytest.raises(BadRuleBook, match="must not be above `stand_10_s`"):
        freeze(laid(settings("stand_5_s", "10", "s") + settings_only("stand_10_s", "9")), REF)


def settings_only(parameter: str, value: str) -> str:
    return f'[parameters.{parameter}]\nvalue = "{value}"\nunit = "s"\nwhy = "Decided"\n'


REF = read_book(HERE).ref


def test_a_rule_that_holds_to_a_changed_value_cites_the_hospital() -> None:
    book = freeze(laid(settings("stand_5_s", "8", "s")), REF)
    limits = [r for r in book.methods["stand_aid"].requires if isinstance(r, Limit)]
    stood = next(r for r in limits if r.parameter == "stand_5_s")
    assert (stood.value, stood.citation.source) == (80, SOURCE)
    others = [r for r in book.methods["stand_aid"].requires if r is not stood]
    assert SOURCE not in {r.citation.source for r in others}


def test_a_sentence_says_the_number_the_hospital_set() -> None:
    def says(book_files: RuleFiles) -> str:
        return " ".join(goal.text for goal in freeze(book_files, REF).goals)

    assert "60 seconds" in says(FILES)
    changed = says(laid(settings("stand_60_s", "90", "s")))
    assert "90 seconds" in changed
    assert "60 seconds" not in changed


def test_a_notice_is_added_and_none_taken_away() -> None:
    content = f'{HEAD}[[notices]]\nid = "ours"\ntext = "Call the lift team first."\n'
    book = freeze(laid(content), REF)
    texts = [notice.text for notice in book.notices]
    assert texts[:-1] == [notice.text for notice in read_book(HERE).notices]
    assert texts[-1] == "Call the lift team first."
    assert book.notices[-1].citation.source == SOURCE


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ('[[notices]]\nid = "come_first"\ntext = "Again."\n', "this id is taken"),
        ('[[notices]]\nid = "ours"\ntext = "Wait {stand_5_s} s."\n', "names no parameter"),
        ('[methods]\nx = "y"\n', "unknown field `methods`"),
        ("[[notices\n", "ours.toml: "),
    ],
)
def test_anything_else_is_refused(tables: str, said: str) -> None:
    assert said in refused(HEAD + tables)


def test_the_digest_covers_the_book_and_the_overlay() -> None:
    one, two = ref_with(REF, b"a"), ref_with(REF, b"b")
    assert len({REF.digest, one.digest, two.digest}) == 3
    assert one.version == f"{REF.version}+local"
    assert ref_with(REF, b"a") == one
