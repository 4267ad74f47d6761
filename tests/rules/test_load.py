"""Does a bad rule file stop the start, and name itself?"""

from decimal import Decimal
from pathlib import Path

import pytest

from service.domain.axis import Axis
from service.domain.condition import Condition
from service.domain.move import Move
from service.domain.stages import Stage
from service.domain.units import Units
from service.rules.load import HERE, load_book, load_overlaid, read_book, read_overlay
from service.rules.reading import BadRuleBook
from tests.rules.broken import BROKEN, METHOD, MOVE
from tests.rules.rule_files import copied, faults_of, on_top, write


@pytest.mark.parametrize("what", BROKEN)
def test_a_bad_rule_file_stops_the_start_and_is_named(what: str, tmp_path: Path) -> None:
    file, edit, named, said = BROKEN[what]
    root = copied(tmp_path)
    write(root, file, edit)
    told = [fault for fault in faults_of(root) if fault.startswith(named) and said in fault]
    assert told, faults_of(root)


@pytest.mark.parametrize("folder", ["axes", "conditions", "stages", "moves", "test_norms"])
def test_a_word_without_its_file_and_a_file_without_its_word_are_named(
    folder: str, tmp_path: Path
) -> None:
    root = copied(tmp_path)
    path = min((root / folder).glob("*.toml"))
    path.rename(path.with_stem("nobody_knows"))
    assert faults_of(root) == [
        f"{folder}/{word}: the file and the word must both exist"
        for word in sorted([path.stem, "nobody_knows"])
    ]


def test_without_a_last_resort_nothing_starts(tmp_path: Path) -> None:
    root = copied(tmp_path)
    (root / "methods/do_not_move.toml").unlink()
    assert "methods/do_not_move: the last resort is missing" in faults_of(root)


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    root = copied(tmp_path)
    for file in (METHOD, MOVE):
        write(root, file, on_top("colour = 1"))
    assert [fault.split(":")[0] for fault in faults_of(root)] == [METHOD, MOVE]


def test_the_book_that_comes_with_the_service_is_whole_and_read_once() -> None:
    book = load_book()
    assert book is load_book()
    assert (set(book.axes), set(book.conditions), set(book.moves)) == (
        set(Axis),
        set(Condition),
        set(Move),
    )
    assert list(book.stages) == list(Stage)
    assert {source.id for source in book.sources.values()} == set(book.sources)


def test_a_copy_reads_the_same_as_the_original(tmp_path: Path) -> None:
    assert read_book(copied(tmp_path)) == load_book()


def test_an_overlay_that_is_not_there_stops_the_start(tmp_path: Path) -> None:
    with pytest.raises(BadRuleBook) as refused:
        read_book(copied(tmp_path), tmp_path / "ours.toml")
    assert refused.value.faults == [f"{tmp_path / 'ours.toml'}: No such file or directory"]


OVERLAY = """
title = "House rules"
version = "v1"
decided_by = "The safe handling board"

[parameters.stand_10_s]
value = "15"
unit = "s"
why = "Decided"
"""


def test_an_overlay_file_lies_over_the_book_and_the_digest_tells_them_apart(
    tmp_path: Path,
) -> None:
    ours = tmp_path / "ours.toml"
    ours.write_text(OVERLAY, encoding="utf-8")
    book, plain = load_book(ours), load_book()
    assert {
        name for name in plain.parameters if book.parameters[name] != plain.parameters[name]
    } == {"stand_10_s"}
    assert book.parameters["stand_10_s"].value == Decimal(15)
    assert book.ref.version == f"{plain.ref.version}+local"
    assert book.ref.digest != plain.ref.digest
    ours.write_text(OVERLAY + "\n", encoding="utf-8")
    assert read_book(HERE, ours).ref.digest != book.ref.digest


def test_a_fault_in_an_overlay_names_the_overlay(tmp_path: Path) -> None:
    ours = tmp_path / "ours.toml"
    ours.write_text(OVERLAY.replace("stand_10_s", "stand_7_s"), encoding="utf-8")
    with pytest.raises(BadRuleBook) as refused:
        read_book(HERE, ours)
    assert refused.value.faults == ["ours.toml: parameters.stand_7_s: no parameter is called so"]


def test_an_overlay_that_was_kept_makes_the_book_that_its_file_makes(tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    file.write_text(OURS, encoding="utf-8")
    kept = load_overlaid(read_overlay(file), file.name)
    assert kept is load_overlaid(file.read_bytes(), file.name)
    assert kept.ref == load_book(file).ref
    assert kept.ref.digest != load_book().ref.digest
    assert kept.parameters["stop_systolic_above"].value == 170


def test_a_kept_overlay_is_checked_like_its_file(tmp_path: Path) -> None:
    with pytest.raises(BadRuleBook, match="190 is looser"):
        load_overlaid(OURS.replace("170", "190").encode(), "ours.toml")
    with pytest.raises(BadRuleBook, match="No such file"):
        read_overlay(tmp_path / "none.toml")


OURS = """
title = "Our own numbers"
version = "v1"
decided_by = "The safe handling board"

[parameters.stop_systolic_above]
value = "170"
unit = "mm[Hg]"
why = "The stroke unit asks for it"

[parameters.systolic_withhold_above]
value = "170"
unit = "mm[Hg]"
why = "Nobody begins where all would stop"
"""


def test_a_book_said_with_pounds_has_a_digest_of_its_own_and_the_same_rules() -> None:
    plain, us = load_book(), load_overlaid(b"", "", Units.US)
    assert us.ref.digest not in (plain.ref.digest, load_overlaid(OURS.encode(), "o").ref.digest)
    assert load_overlaid(b"", "").ref == plain.ref
    legs = [step.text for step in us.methods["stand_aid"].steps if "one leg at a time" in step.text]
    assert legs and all("up to 64 kg (141 lb)" in text for text in legs)
    for name, method in us.methods.items():
        assert [each.rule for each in method.requires] == [
            each.rule for each in plain.methods[name].requires
        ]
    assert us.parameters == plain.parameters
    both = load_overlaid(OURS.encode(), "ours.toml", Units.US)
    assert both.parameters["stop_systolic_above"].value == 170
