"""Is the audit trail checked and exported at the keyboard?"""

import json
import sqlite3
from contextlib import closing

import pytest

from service.commands import CANNOT, CHECK_FAILED, WRONG_USE
from tests.commands.test_org import Run
from tests.fhir.validators import form_faults, official_faults, parse_faults


@pytest.fixture
def run(tmp_path: object, capsys: pytest.CaptureFixture[str]) -> Run:
    one = Run(tmp_path, capsys)  # type: ignore[arg-type]
    one.done("org", "create", "Harbour")
    one.done("keys", "create", "ward")
    return one


def org_of(run: Run) -> str:
    (one,) = json.loads(run.done("org", "list", "--json"))
    org: str = one["org"]
    return org


def spoil(run: Run, statement: str) -> None:
    with closing(sqlite3.connect(run.database)) as connection, connection:
        connection.execute(statement)


def test_an_untouched_trail_is_whole(run: Run) -> None:
    assert "the audit trail is whole" in run.done("audit", "verify")


def test_a_changed_one_is_told_with_its_place_and_fails(run: Run) -> None:
    spoil(run, "UPDATE audit SET at = at + 1 WHERE seq = 1")
    code, out, _ = run("audit", "verify")
    assert code == CHECK_FAILED
    assert "edited: " in out and "chain 2, entry 1" in out and "NOT whole" in out
    code, out, _ = run("audit", "verify", "--json")
    assert code == CHECK_FAILED
    assert json.loads(out)["faults"][0]["kind"] == "edited"


def test_a_trail_that_is_gone_is_told_while_its_organisation_is_there(run: Run) -> None:
    spoil(run, "DELETE FROM audit")
    code, out, _ = run("audit", "verify")
    assert code == CHECK_FAILED and "missing: " in out


def test_the_trail_leaves_as_valid_events_one_a_line_and_that_is_noted(run: Run) -> None:
    org = org_of(run)
    lines = run.done("audit", "export", "--organisation", org).splitlines()
    events = [json.loads(line) for line in lines]
    assert [one["id"] for one in events] == ["2-1", "2-2", "2-3"]
    assert {one["resourceType"] for one in events} == {"AuditEvent"}
    for line, event in zip(lines, events, strict=True):
        raw = line.encode()
        assert official_faults(event) + form_faults(raw) + parse_faults(raw) == []
    assert "audit.export" in lines[-1]


def test_an_export_can_be_bounded_and_overwrites_nothing(run: Run) -> None:
    org = org_of(run)
    target = run.database.with_name("trail.ndjson")
    told = run.done("audit", "export", "--organisation", org, "--output", str(target))
    assert told == "3 entries.\n"
    assert target.stat().st_mode & 0o077 == 0
    assert len(target.read_text().splitlines()) == 3
    code, _, _ = run("audit", "export", "--organisation", org, "--output", str(target))
    assert code == CANNOT
    assert run.done("audit", "export", "--organisation", org, "--since", "2999-01-01") == ""
    assert run.done("audit", "export", "--organisation", org, "--until", "2000-01-01") == ""


def test_what_cannot_be_exported_is_told(run: Run) -> None:
    code, _, err = run("audit", "export", "--organisation", "nobody")
    assert code == WRONG_USE and "no organisation" in err
    code, _, err = run("audit", "export", "--organisation", org_of(run), "--since", "soon")
    assert code == WRONG_USE and "a date" in err
