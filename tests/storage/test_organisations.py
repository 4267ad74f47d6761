"""Does an organisation come with a place in time and a secret of its own?"""

from pathlib import Path

import pytest
from msgspec.structs import replace

from service.storage.documents import OrganisationSettings, Overlay, decode_settings, encode
from service.storage.organisations import (
    create_organisation,
    list_organisations,
    read_organisation,
    set_organisation,
)
from service.storage.rows import OrganisationRow
from service.storage.verify import verify_audit
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


def test_one_is_set_and_the_others_stay_as_they_are(tmp_path: Path) -> None:
    path, clock = tmp_path / "record.db", SteppingClock()
    empty_record(path)
    first = create_organisation(path, clock, "Harbour House", "Europe/Dublin")
    clock.go_on(seconds=1)
    second = create_organisation(path, clock, "Hill House", "UTC")
    ours = Overlay("ours.toml", "title = 'Ours'\n")
    changed = replace(first, name=" Harbour Hospital ", time_zone="UTC", overlay=ours)
    kept = set_organisation(path, clock, changed)
    assert kept == replace(changed, name="Harbour Hospital")
    assert read_organisation(path, first.org) == kept
    assert list_organisations(path) == (kept, second)
    assert set_organisation(path, clock, replace(kept, overlay=None)).overlay is None
    assert verify_audit(path).entries == 4


def test_what_else_it_has_set_for_itself_is_kept(tmp_path: Path) -> None:
    path, clock = tmp_path / "record.db", SteppingClock()
    empty_record(path)
    one = create_organisation(path, clock, "Harbour House", "UTC")
    targets = encode(OrganisationSettings(("partner",)))
    sql_of(path, "UPDATE organisation SET settings = ?", targets)
    set_organisation(path, clock, replace(one, overlay=Overlay("ours.toml", "")))
    ((settings,),) = sql_of(path, "SELECT settings FROM organisation")
    assert decode_settings(settings).delivery_targets == ("partner",)


def test_one_that_is_not_there_is_neither_set_nor_read(tmp_path: Path) -> None:
    path, clock = tmp_path / "record.db", SteppingClock()
    empty_record(path)
    one = create_organisation(path, clock, "Harbour House", "UTC")
    with pytest.raises(LookupError, match="no organisation nowhere"):
        set_organisation(path, clock, replace(one, org="nowhere"))
    with pytest.raises(LookupError, match="no organisation nowhere"):
        read_organisation(path, "nowhere")
    for wrong in (replace(one, name=" "), replace(one, time_zone="Mars/Olympus")):
        with pytest.raises(ValueError, match=r"name|zone"):
            set_organisation(path, clock, wrong)
    assert list_organisations(path) == (one,)
