"""Is a backup made and put back at the keyboard, and nothing overwritten unasked?"""

import json
from pathlib import Path

from service.commands import CHECK_FAILED, WRONG_USE
from service.storage.connection import short_read
from service.storage.transfer import _digested
from service.storage.verify import verify_audit
from tests.commands.record import Record
from tests.storage.made import rows_of
from tests.storage.servers import database

SCREENS = (("H-1", 1), ("H-2", 2), ("H-1", 3))


def test_a_backup_is_made_told_and_put_back_at_either_kind_of_place(
    record: Record, tmp_path: Path
) -> None:
    copy = tmp_path / "night.db"
    record.filled(*SCREENS)
    told = record.done("backup", str(copy))
    assert f"{copy}: 3 screens, 3 plans, checked. SHA-256 " in told
    with database() as server:
        for place in (tmp_path / "restored.db", server):
            again = record.done("restore", str(copy), place=place)
            assert again.startswith(f"{place}: 3 screens, 3 plans, as of 20")
            assert rows_of(place, "screen") == 3
            assert verify_audit(place).sound
            with short_read(record.place) as there, short_read(place) as here:
                sent, came = _digested(there), _digested(here)
            same = set(sent.digests) - {"audit"}  # the restoring is told of in the trail
            assert {name: came.digests[name] for name in same} == {
                name: sent.digests[name] for name in same
            }


def test_what_is_there_is_replaced_only_when_it_is_said(record: Record, tmp_path: Path) -> None:
    copy = tmp_path / "night.db"
    record.filled(*SCREENS)
    made = json.loads(record.done("backup", str(copy), "--json"))
    assert made["rows"]["screen"] == 3
    assert record("backup", str(copy))[0] == WRONG_USE
    record.filled(("H-9", 9))
    code, out, err = record("restore", str(copy))
    assert (code, out) == (WRONG_USE, "") and "say --replace" in err
    assert rows_of(record.place, "screen") == 4
    put = json.loads(record.done("restore", str(copy), "--replace", "--json"))
    assert put["sha256"] == made["sha256"]
    assert rows_of(record.place, "screen") == 3


def test_a_copy_that_was_changed_is_not_put_back(record: Record, tmp_path: Path) -> None:
    copy = tmp_path / "night.db"
    record.filled(*SCREENS)
    record.done("backup", str(copy))
    copy.write_bytes(copy.read_bytes().replace(b"H-2", b"H-3"))
    code, out, err = record("restore", str(copy), "--replace")
    assert (code, out) == (CHECK_FAILED, "") and "digest differs" in err
    assert rows_of(record.place, "screen") == 3
    assert record("restore", str(tmp_path / "none.db"))[0] == WRONG_USE
