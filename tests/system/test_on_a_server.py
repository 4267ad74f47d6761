"""Do the commands do on a PostgreSQL server, beside the serving process, what they do on a file?"""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.storage.place import Server
from tests.storage.made import rows_of, sql_of
from tests.storage.servers import database
from tests.system.server import command, log_of, serving
from tests.system.test_together import _screen


@pytest.fixture
def place() -> Iterator[Server]:
    with database() as server:
        yield server


def said(place: Server, *words: str) -> str:
    told = command(place, *words)
    assert (told.returncode, told.stderr) == (0, ""), words
    return told.stdout


def told(place: Server, *words: str) -> Any:
    return json.loads(said(place, *words, "--json"))


def test_organisations_and_keys_are_kept_on_the_server(place: Server) -> None:
    org = said(place, "org", "create", "Harbour", "--time-zone", "Europe/Dublin").strip()
    said(place, "org", "set", org, "--name", "Harbour House")
    assert said(place, "org", "list") == f"{org}  Europe/Dublin  Harbour House\n"
    assert told(place, "org", "show", org)["organisation"]["name"] == "Harbour House"
    old = said(place, "keys", "create", "ward", "--scope", "system/*.cruds").splitlines()[0]
    (info,) = told(place, "keys", "list")
    with serving(place, old) as server:
        assert server.client.post("/v1/screens", json=_screen()).status_code == 201
        (used,) = told(place, "keys", "list")
        assert (info["last_used"], used["last_used"] is not None) == (None, True)
        new = said(place, "keys", "rotate", info["id"], "--overlap", "1h").splitlines()[0]
        headers = {"Authorization": f"Bearer {new}"}
        made = httpx.post(f"{server.base}/v1/screens", json=_screen(), headers=headers, timeout=20)
        assert made.status_code == 201
        (newer,) = (one for one in told(place, "keys", "list") if one["id"] != info["id"])
        said(place, "keys", "revoke", newer["id"])
    with serving(place, old) as server:
        refused = httpx.post(f"{server.base}/v1/screens", json=_screen(), headers=headers)
        assert refused.status_code == 401
    assert "whole" in said(place, "audit", "verify")


def test_the_trail_is_verified_with_the_seals_of_the_log(place: Server, tmp_path: Path) -> None:
    with serving(place) as server:
        for number in range(3):
            server.client.post("/v1/screens", json=_screen(f"V-{number}"))
        assert server.stop() == 0
    log = tmp_path / "held.log"
    log.write_bytes(log_of(place).read_bytes())
    report = told(place, "audit", "verify", "--seals", str(log))
    assert (report["faults"], report["entries"] >= 3, report["seals"] >= 1) == ([], True, True)
    sql_of(place, "DELETE FROM audit WHERE chain = 1 AND seq >= 2")
    sql_of(place, "DELETE FROM audit_seal")
    cut = command(place, "audit", "verify", "--seals", str(log))
    assert cut.returncode == 1 and "NOT whole" in cut.stdout


def test_a_patient_is_erased_while_the_service_serves(place: Server) -> None:
    with serving(place) as server:
        kept = server.client.post("/v1/screens", json=_screen("E-1")).json()
        server.client.post("/v1/screens", json=_screen("E-2"))
        patient = kept["screen"]["patient_id"]
        (org,) = told(place, "org", "list")
        whom = ("erase", "--organisation", org["org"], "--patient", patient)
        assert told(place, *whom) == [patient]
        (erased,) = told(place, *whom, "--yes")
        assert erased["rows"]["screen"] == erased["rows"]["plan"] == 1
        gone = server.client.get(f"/v1/plans/{kept['plan']['id']}")
        assert gone.status_code == 404
        assert server.client.post("/v1/screens", json=_screen("E-1")).status_code == 201
    assert rows_of(place, "screen") == 2
    assert "whole" in said(place, "audit", "verify")


def test_a_backup_of_a_served_server_is_put_back_on_another_and_answers_the_same(
    place: Server, tmp_path: Path
) -> None:
    copy = tmp_path / "night.db"
    with serving(place) as server, database() as other:
        first = [server.client.post("/v1/screens", json=_screen(f"B-{n}")) for n in range(3)]
        paths = [httpx.URL(one.headers["location"]).path for one in first]
        assert re.search("3 screens, 3 plans, checked", said(place, "backup", str(copy)))
        server.client.post("/v1/screens", json=_screen("B-9"))
        before = [server.client.get(path).content for path in paths]
        said(other, "restore", str(copy))
        assert command(other, "restore", str(copy)).returncode == 2
        with serving(other, server.key) as again:
            assert [again.client.get(path).content for path in paths] == before
        assert "whole" in said(other, "audit", "verify", "--seals", f"{copy}.json")
        assert (rows_of(place, "screen"), rows_of(other, "screen")) == (4, 3)
        said(other, "restore", str(copy), "--replace")


def test_a_role_that_may_not_make_tables_cannot_migrate_and_says_so(place: Server) -> None:
    assert place.read is not None
    with database() as fresh:
        sql_of(fresh, "UPDATE alembic_version SET version_num = '0004'")
        assert fresh.read is not None
        told_so = command(Server(fresh.read), "migrate")
    assert told_so.returncode == 3
    assert told_so.stderr.startswith("The PostgreSQL server cannot be used: ")
    assert "permission denied" in told_so.stderr and told_so.stderr.count("\n") == 1
