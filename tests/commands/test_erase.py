"""Is a patient erased at the keyboard only when it is said twice, and nobody else?"""

import json

from service.commands import WRONG_USE
from service.storage.place import Server
from service.storage.verify import verify_audit
from tests.commands.record import Record
from tests.storage.made import rows_of

SCREENS = (("GONE", 1), ("STAYS", 2), ("GONE", 3))


def test_without_yes_it_is_only_said_who_it_would_be(record: Record) -> None:
    record.filled(*SCREENS)
    whom = ("erase", "--organisation", record.org, "--patient", record.patients["GONE"])
    assert f"{record.patients['GONE']}\n1 would be erased" in record.done(*whom)
    assert json.loads(record.done(*whom, "--json")) == [record.patients["GONE"]]
    assert rows_of(record.place, "screen") == 3


def test_one_patient_is_erased_and_the_others_and_the_trail_stay(record: Record) -> None:
    record.filled(*SCREENS)
    told = record.done(
        "erase", "--organisation", record.org, "--patient", record.patients["GONE"], "--yes"
    )
    assert f"{record.patients['GONE']}: 2 screens, 2 plans erased." in told
    assert told.endswith("1 erased.\n")
    assert ("vacuumed" in told) == isinstance(record.place, Server)
    assert "Somebody is reading" not in told
    assert rows_of(record.place, "screen") == rows_of(record.place, "patient") == 1
    assert verify_audit(record.place).sound
    again = record("erase", "--organisation", record.org, "--patient", "nobody", "--yes")
    assert again[0] == WRONG_USE and "There is no patient nobody" in again[2]


def test_those_not_seen_for_long_are_erased_and_those_seen_since_stay(record: Record) -> None:
    record.filled(("GONE", 0), ("STAYS", 60 * 24 * 3))
    since = ("erase", "--organisation", record.org, "--unseen-since")
    assert json.loads(record.done(*since, "2026-03-05", "--json")) == [record.patients["GONE"]]
    assert json.loads(record.done(*since, "2026-03-01", "--json")) == []
    (erased,) = json.loads(record.done(*since, "2026-03-05T00:00:00+01:00", "--yes", "--json"))
    assert erased["patient"] == record.patients["GONE"]
    assert erased["rows"]["screen"] == erased["rows"]["plan"] == 1
    assert json.loads(record.done(*since, "2026-03-05", "--json")) == []
    assert rows_of(record.place, "patient") == 1
    assert record(*since, "yesterday")[0] == WRONG_USE
