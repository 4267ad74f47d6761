"""Does the whole service know its callers: keys, tokens, and each organisation's own rule book?"""

import json
import sqlite3
import time
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any

import httpx
import pytest

from service.domain.units import Units
from service.rules.load import load_book, load_overlaid
from tests.rules.test_load import OURS
from tests.system.server import Server, command, key_for, serving
from tests.web.tokens_world import jwk, jwks, key_server, rsa_key, signed
from tests.web.world import screen

KEY = rsa_key()
ISSUER, AUDIENCE = "https://id.harbour.example", "https://stanchion.harbour.example/fhir/R4"


def made(database: Path, *words: str) -> str:
    done = command(database, *words)
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()[0]


def plan(server: Server, key: str) -> dict[str, Any]:
    headers = {"Authorization": f"Bearer {key}"}
    posted = server.client.post("/v1/screens", json=screen(), headers=headers)
    assert posted.status_code == 201, posted.text
    told: dict[str, Any] = posted.json()["plan"]
    return told


def test_each_organisation_is_answered_by_its_own_rule_book(tmp_path: Path) -> None:
    database, file = tmp_path / "kept.db", tmp_path / "ours.toml"
    file.write_text(OURS, encoding="utf-8")
    own, plain = (made(database, "org", "create", name) for name in ("Harbour", "Hill"))
    units = ("--units", "us")
    made(database, "org", "set", own, "--overlay", str(file), "--setting", "home", *units)
    keys = [made(database, "keys", "create", "x", "--organisation", org) for org in (own, plain)]
    with serving(database, keys[0]) as server:
        first, second = (plan(server, key) for key in keys)
        books = [
            server.client.get("/v1/rules", headers={"Authorization": f"Bearer {key}"}).json()
            for key in keys
        ]
        bundle = server.client.get(
            f"/v1/plans/{first['id']}", headers={"Accept": "application/fhir+json"}
        )
    content = file.read_bytes()
    assert first["rule_book"]["digest"] == load_overlaid(content, file.name, Units.US).ref.digest
    assert second["rule_book"]["digest"] == load_book().ref.digest
    assert [one["rule_book"] for one in books] == [first["rule_book"], second["rule_book"]]
    assert "goes over 170" in str(first["moves"]) and "goes over 180" in str(second["moves"])
    assert bundle.status_code == 200
    assert hours(first) > hours(second)  # at home a plan holds longer than in acute care


def hours(plan: dict[str, Any]) -> float:
    """For how long a plan holds."""
    begins, ends = (datetime.fromisoformat(plan[name]) for name in ("valid_from", "valid_until"))
    return (ends - begins).total_seconds() / 3600


def test_numbers_that_no_longer_hold_stop_the_start_and_name_whose_they_are(
    tmp_path: Path,
) -> None:
    database, file = tmp_path / "kept.db", tmp_path / "ours.toml"
    file.write_text(OURS, encoding="utf-8")
    org = made(database, "org", "create", "Harbour")
    made(database, "org", "set", org, "--overlay", str(file))
    spoil(database)
    refused = command(database, "serve", "--port", "0")
    assert refused.returncode == 3
    assert f"organisation {org}: ours.toml: parameters.stop_systolic_above" in refused.stderr


def spoil(database: Path) -> None:
    """As if a later release had narrowed what an overlay may set."""
    with closing(sqlite3.connect(database)) as connection, connection:
        ((settings,),) = connection.execute("SELECT settings FROM organisation").fetchall()
        loose = settings.replace(b"170", b"190")
        connection.execute("UPDATE organisation SET settings = ?", (loose,))


def issuers(folder: Path, org: str, jwks_at: str) -> Path:
    path = folder / "issuers.toml"
    path.write_text(
        f'[[issuers]]\nissuer = "{ISSUER}"\naudience = "{AUDIENCE}"\njwks = "{jwks_at}"\n'
        f'token_endpoint = "{ISSUER}/token"\norganisation = "{org}"\n',
        encoding="utf-8",
    )
    return path


def token(**more: Any) -> str:
    now = int(time.time())
    said = {"iss": ISSUER, "aud": AUDIENCE, "sub": "ward", "exp": now + 300, "iat": now}
    return signed(KEY, said | {"scope": "system/*.cruds"} | more)


def test_a_server_takes_tokens_of_its_issuer_and_says_where_they_come_from(tmp_path: Path) -> None:
    database = tmp_path / "kept.db"
    key = key_for(database)
    (org,) = [one["org"] for one in json.loads(command(database, "org", "list", "--json").stdout)]
    with key_server() as published:
        published.body = jwks(jwk(KEY, "one"))
        file = issuers(tmp_path, org, published.url)
        with serving(database, key, STANCHION_ISSUERS=str(file)) as server:
            first = plan(server, token())
            assert published.asked == 1
            told = server.client.get(f"/v1/plans/{first['id']}")
            assert told.status_code == 200
            narrow = {"Authorization": f"Bearer {token(scope='system/Patient.r')}"}
            assert server.client.get("/v1/screens", headers=narrow).status_code == 403
            forged = {"Authorization": f"Bearer {token(iss='https://id.other.example')}"}
            assert server.client.get("/v1/rules", headers=forged).status_code == 401
            smart = httpx.get(f"{server.base}/fhir/R4/.well-known/smart-configuration")
            assert smart.json()["token_endpoint"] == f"{ISSUER}/token"


def test_a_file_of_issuers_that_names_a_stranger_stops_the_start(tmp_path: Path) -> None:
    database = tmp_path / "kept.db"
    key_for(database)
    file = issuers(tmp_path, "nobody", "keys.json")
    refused = command(database, "serve", "--port", "0", STANCHION_ISSUERS=str(file))
    assert refused.returncode == 2
    assert "organisation nobody, which is not there" in refused.stderr


@pytest.mark.parametrize("host", ["0.0.0.0", "::"])  # noqa: S104 - it must refuse to
def test_it_does_not_listen_to_others_without_a_credential(tmp_path: Path, host: str) -> None:
    refused = command(tmp_path / "a.db", "serve", "--port", "0", "--host", host)
    assert refused.returncode == 2
    assert "no API key yet, and no issuer" in refused.stderr
