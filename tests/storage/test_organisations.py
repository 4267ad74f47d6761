"""Does an organisation come with a place in time and a secret of its own?"""

from pathlib import Path

import pytest

from service.storage.organisations import create_organisation, list_organisations
from service.storage.rows import OrganisationRow
from tests.storage.made import SteppingClock, empty_record, sql_of


def test_organisations_are_listed_in_the_order_they_came(tmp_path: Path) -> None:
    path, clock = tmp_path / "record.db", SteppingClock()
    empty_record(path)
    first = create_organisation(path, clock, " Harbour House ", "Europe/Dublin")
    clock.go_on(seconds=1)
    second = create_organisation(path, clock, "Hill House", "UTC")
    assert first.name == "Harbour House"
    assert list_organisations(path) == (first, second)
    rows = [OrganisationRow(*row) for row in sql_of(path, "SELECT * FROM organisation")]
    assert len({row.patient_key for row in rows}) == 2
    assert {len(row.patient_key) for row in rows} == {32}


@pytest.mark.parametrize(
    ("name", "zone", "said"),
    [(" ", "UTC", "name"), ("House", "Nowhere/Land", "time zone"), ("House", "../x", "time zone")],
)
def test_what_makes_no_sense_is_refused(tmp_path: Path, name: str, zone: str, said: str) -> None:
    empty_record(tmp_path / "record.db")
    with pytest.raises(ValueError, match=said):
        create_organisation(tmp_path / "record.db", SteppingClock(), name, zone)
    assert list_organisations(tmp_path / "record.db") == ()
