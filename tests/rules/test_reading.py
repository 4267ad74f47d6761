"""Does the digest stand for every byte of every rule file, and for nothing else?"""

import os
import shutil
from pathlib import Path

import pytest

from service.rules.load import HERE
from service.rules.reading import BadRuleBook, digest_of, read_files, uncited
from tests.rules.rule_files import added, copied, instead, line, write

FILES = sorted(path.relative_to(HERE).as_posix() for path in HERE.rglob("*.toml"))


def test_the_digest_is_64_hex_digits_and_the_same_each_time(tmp_path: Path) -> None:
    digest = digest_of(HERE)
    assert len(digest) == 64 and set(digest) <= set("0123456789abcdef")
    assert digest_of(copied(tmp_path)) == digest == digest_of(HERE)


def test_one_byte_of_any_file_changes_the_digest(tmp_path: Path) -> None:
    root = copied(tmp_path)
    seen = {digest_of(root)}
    for file in FILES:
        path = root / file
        content = path.read_bytes()
        path.write_bytes(content[:-1] + bytes([content[-1] ^ 1]))
        seen.add(digest_of(root))
        path.write_bytes(content)
    assert len(seen) == len(FILES) + 1
    assert digest_of(root) in seen


def test_a_file_added_taken_away_or_renamed_changes_the_digest(tmp_path: Path) -> None:
    root = copied(tmp_path)
    before = digest_of(root)
    file = root / "sources/perry_1995.toml"
    (root / "sources/empty.toml").touch()
    more = digest_of(root)
    (root / "sources/empty.toml").unlink()
    file.rename(file.with_stem("perry_1996"))
    renamed = digest_of(root)
    (root / "sources/perry_1996.toml").unlink()
    assert len({before, more, renamed, digest_of(root)}) == 4


def test_bytes_that_move_from_one_file_to_the_next_change_the_digest(tmp_path: Path) -> None:
    for number, (first, second) in enumerate((("ab", "c"), ("a", "bc"))):
        root = tmp_path / str(number)
        root.mkdir()
        (root / "1.toml").write_text(first)
        (root / "2.toml").write_text(second)
    assert digest_of(tmp_path / "0") != digest_of(tmp_path / "1")


def test_other_files_and_times_leave_the_digest_as_it_is(tmp_path: Path) -> None:
    root = copied(tmp_path)
    before = digest_of(root)
    (root / "notes.txt").write_text("nothing to do with the rules")
    os.utime(root / "plan.toml", (0, 0))
    assert digest_of(root) == before


def test_a_folder_that_is_empty_or_gone_is_named(tmp_path: Path) -> None:
    root = copied(tmp_path)
    shutil.rmtree(root / "accessories")
    (root / "plan.toml").unlink()
    with pytest.raises(BadRuleBook) as refused:
        read_files(root)
    plan, accessories = refused.value.faults
    assert plan.startswith("plan.toml: ") and "No such file" in plan
    assert accessories == "accessories/: no rule file can be read here"


def test_bytes_that_are_no_text_are_named(tmp_path: Path) -> None:
    root = copied(tmp_path)
    (root / "axes/lean.toml").write_bytes(b"title = \xff")
    with pytest.raises(BadRuleBook, match=r"axes/lean\.toml: "):
        read_files(root)


def test_every_citation_that_names_no_source_is_found_with_its_place(tmp_path: Path) -> None:
    root = copied(tmp_path)
    write(root, "methods/stand_aid.toml", instead('source = "vha_2014"', 'source = "hearsay"'))
    write(root, "conditions/stoma.toml", line("source = ", 'source = "rumour"'))
    write(
        root,
        "plan.toml",
        added('[[rescreen]]\nid = "odd"\ntext = "Odd."\nsource = "gossip"\nstanding = "practice"'),
    )
    told = list(uncited(read_files(root)))
    assert [fault.rsplit(" ", 1)[1] for fault in told] == ["`rumour`", "`hearsay`", "`gossip`"]
    assert [fault.split(":")[0].split("[")[0].split(".")[0] for fault in told] == [
        "conditions/stoma",
        "methods/stand_aid",
        "plan",
    ]


def test_every_citation_of_the_book_has_its_source() -> None:
    assert list(uncited(read_files(HERE))) == []
