"""Does a real server process keep what it answered, refuse what is bad, and stop gently?"""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.settings import SettingsError, from_environment
from tests.system.server import Server, command, key_for, serving
from tests.web.world import JSON, screen

GOOD = json.dumps(screen()).encode()
FEED = "/v1/screens?since=2000-01-01T00:00:00Z"


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("shared") / "shared.db") as one:
        yield one


def test_an_answered_screen_outlives_a_kill_right_after_the_answer(tmp_path: Path) -> None:
    database = tmp_path / "killed.db"
    key = key_for(database)
    answers = []
    for round_ in range(2):
        with serving(database, key) as server:
            for number in range(3):
                body = screen(f"H-{round_}-{number}")
                response = server.client.post("/v1/screens", json=body)
                assert response.status_code == 201
                answers.append(response.json())
            server.kill()
    with serving(database, key) as server:
        for answer in answers:
            kept = server.client.get(f"/v1/screens/{answer['screen']['id']}").json()
            assert kept["screen"] == answer["screen"]
            plan = server.client.get(f"/v1/plans/{answer['plan']['id']}").json()
            assert plan["moves"] == answer["plan"]["moves"]
        assert server.stop() == 0
    verified = command(database, "audit", "verify", "--json")
    assert verified.returncode == 0, verified.stdout
    assert json.loads(verified.stdout)["faults"] == []


@pytest.mark.parametrize(
    ("name", "body", "content_type", "status"),
    [
        ("malformed", b"{", "application/json", 400),
        ("empty", b"", "application/json", 400),
        ("not a number", GOOD.replace(b"71.5", b"NaN"), "application/json", 400),
        ("twice", GOOD.replace(b'"rass"', b'"rass":0,"rass"'), "application/json", 400),
        ("deep", b"[" * 10_000 + b"]" * 10_000, "application/json", 400),
        ("latin", GOOD.replace(b"H-1", b"H-\xe9"), "application/json", 400),
        ("charset", GOOD, "application/json; charset=latin-1", 415),
        ("form", GOOD, "text/plain", 415),
        ("oversized", b'"' + b"a" * 10_000_000 + b'"', "application/json", 413),
        ("text for a number", GOOD.replace(b"71.5", b'"71.5"'), "application/json", 422),
    ],
)
def test_a_bad_body_gets_its_status_and_nothing_is_stored(
    shared: Server, name: str, body: bytes, content_type: str, status: int
) -> None:
    headers = {"Content-Type": content_type}
    response = shared.client.post("/v1/screens", content=body, headers=headers)
    assert response.status_code == status, name
    assert response.headers["content-type"] == "application/problem+json"
    assert shared.client.get(FEED).json()["items"] == []


def test_what_was_sent_stands_in_no_log(tmp_path: Path) -> None:
    database = tmp_path / "silent.db"
    with serving(database) as server:
        body = screen("H-4711-secret")
        answer = server.client.post("/v1/screens", json=body).json()
        server.client.get(f"/v1/screens/{answer['screen']['id']}")
        server.client.post("/v1/screens", content=b'{"H-4711-secret"', headers=JSON)
        server.stop()
    written = database.with_suffix(".log").read_text(encoding="utf-8")
    assert "secret" not in written
    assert '"route":"/v1/screens/{screen_id}"' in written
    assert answer["screen"]["id"] not in written


def test_without_a_key_it_does_not_listen_to_others(tmp_path: Path) -> None:
    done = command(tmp_path / "open.db", "serve", "--host", "0.0.0.0", "--port", "0")  # noqa: S104
    assert done.returncode == 2
    assert "stanchion keys create" in done.stderr


def test_keys_cannot_be_switched_off_for_others(tmp_path: Path) -> None:
    words = ("serve", "--host", "0.0.0.0", "--auth", "off", "--port", "0")  # noqa: S104
    done = command(tmp_path / "open.db", *words)
    assert done.returncode == 2
    assert "loopback" in done.stderr


def test_a_second_process_on_one_file_is_refused(tmp_path: Path) -> None:
    database = tmp_path / "one.db"
    with serving(database):
        second = command(database, "serve", "--port", "0")
    assert second.returncode == 3
    assert second.stderr.strip()


def test_keys_are_made_listed_and_revoked_without_showing_the_secret(tmp_path: Path) -> None:
    database = tmp_path / "keys.db"
    key = key_for(database)
    (listed,) = json.loads(command(database, "keys", "list", "--json").stdout)
    assert key not in json.dumps(listed)
    assert command(database, "keys", "revoke", listed["id"]).returncode == 0
    assert "revoked" in command(database, "keys", "list").stdout
    assert command(database, "keys", "revoke", "nothing").returncode == 2
    assert command(database, "keys", "create", "x", "--organisation", "none").returncode == 2


def test_a_wrong_setting_is_named(tmp_path: Path) -> None:
    done = command(tmp_path / "a.db", "migrate", STANCHION_PORT="many")
    assert (done.returncode, "STANCHION_PORT" in done.stderr) == (2, True)
    misspelt = command(tmp_path / "a.db", "migrate", STANCHION_PRT="1")
    assert (misspelt.returncode, "STANCHION_PRT" in misspelt.stderr) == (2, True)


@pytest.mark.parametrize(
    ("name", "value"),
    [("PORT", "65536"), ("PORT", "-1"), ("AUTH", "no"), ("PUBLIC_BASE", "ward.example")],
)
def test_a_setting_that_cannot_be_used_is_refused(name: str, value: str) -> None:
    with pytest.raises(SettingsError):
        from_environment({f"STANCHION_{name}": value})


def test_the_addresses_follow_from_host_and_port() -> None:
    settings = from_environment({"STANCHION_HOST": "::1", "STANCHION_PORT": "80"})
    assert (settings.base, settings.fhir) == ("http://[::1]:80", "http://[::1]:80/fhir/R4")
    behind = from_environment({"STANCHION_PUBLIC_BASE": "https://care.example/"})
    assert behind.fhir == "https://care.example/fhir/R4"


def test_the_version_and_the_document_are_to_be_had_from_the_command_line(
    tmp_path: Path,
) -> None:
    assert command(tmp_path / "a.db", "version").stdout.strip().count(".") == 2
    file = tmp_path / "openapi.json"
    assert command(tmp_path / "a.db", "openapi", "--file", str(file)).returncode == 0
    assert command(tmp_path / "a.db", "openapi", "--check", "--file", str(file)).returncode == 0
    file.write_text("{}", encoding="utf-8")
    assert command(tmp_path / "a.db", "openapi", "--check", "--file", str(file)).returncode == 1
    assert command(tmp_path / "none.db", "audit", "verify").returncode == 2
