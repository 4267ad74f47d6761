"""Does the operator see every setting, where it comes from, and no secret?"""

import json
import re
from pathlib import Path

import pytest

from service.settings import Settings, SettingsError, from_environment, sourced
from service.settings_sources import known
from service.storage.place import Server
from tests.storage.servers import database
from tests.system.server import command

TOKEN = "a-token-of-the-scraper"


def settings_file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "stanchion.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_environment_wins_over_the_file_and_the_file_over_the_default(tmp_path: Path) -> None:
    file = settings_file(tmp_path, 'port = 9000\nhost = "::1"\n')
    settings, sources = sourced({"STANCHION_PORT": "9100", "STANCHION_CONFIG": str(file)})
    assert (settings.port, settings.host, settings.log) == (9100, "::1", "json")
    assert sources == {"port": "STANCHION_PORT", "host": str(file)}


def test_every_kind_of_value_can_be_set_in_the_file(tmp_path: Path) -> None:
    text = (
        'database = "/data/a.db"\nrequest_seconds = 5.5\ncors_origins = ["https://a.example"]\n'
        'auth = "off"\nrate = "off"\n'
    )
    settings = from_environment({}, settings_file(tmp_path, text))
    assert settings.database == Path("/data/a.db")
    assert settings.request_seconds == 5.5
    assert settings.cors_origins == ("https://a.example",)
    assert (settings.auth, settings.rate) == ("off", "off")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("prt = 1\n", "unknown setting: prt"),
        ("[server]\nport = 1\n", "unknown setting: server"),
        ('port = "9000"\n', "Expected `int`"),
        ("port = 70000\n", "<= 65535"),
        ("port = \n", "is not TOML"),
        ('rate = "often"\n', "STANCHION_RATE"),
        ('cors_origins = ["*"]\n', "STANCHION_CORS_ORIGINS"),
        ('traces = "collector:4318"\n', "STANCHION_TRACES"),
        ('metrics_token = "short"\n', "length >= 16"),
        ("host_file = 1\n", "unknown setting: host_file"),
    ],
)
def test_what_cannot_be_used_is_refused_and_named(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(SettingsError, match=said):
        from_environment({}, settings_file(tmp_path, text))


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match=r"none\.toml cannot be read: FileNotFoundError"):
        from_environment({"STANCHION_CONFIG": str(tmp_path / "none.toml")})


def test_a_secret_comes_from_a_file_of_its_own(tmp_path: Path) -> None:
    held = tmp_path / "token"
    held.write_text(f"{TOKEN}\n", encoding="utf-8")
    for environment, file in (
        ({"STANCHION_METRICS_TOKEN_FILE": str(held)}, None),
        ({}, settings_file(tmp_path, f'metrics_token_file = "{held}"\n')),
    ):
        settings, sources = sourced(environment, file)
        assert settings.metrics_token == TOKEN
        assert "token" in sources["metrics_token"] and TOKEN not in sources["metrics_token"]
    both = {"STANCHION_METRICS_TOKEN": TOKEN, "STANCHION_METRICS_TOKEN_FILE": str(held)}
    with pytest.raises(SettingsError, match="not both"):
        from_environment(both)
    held.write_text("\n", encoding="utf-8")
    with pytest.raises(SettingsError, match="is empty"):
        from_environment({"STANCHION_METRICS_TOKEN_FILE": str(held)})
    with pytest.raises(SettingsError, match="cannot be read"):
        from_environment({"STANCHION_METRICS_TOKEN_FILE": str(tmp_path / "none")})


def test_what_is_no_secret_comes_from_no_file() -> None:
    with pytest.raises(SettingsError, match="Unknown setting: STANCHION_PORT_FILE"):
        from_environment({"STANCHION_PORT_FILE": "/a"})


def test_show_tells_value_and_source_of_every_setting_and_masks_secrets(tmp_path: Path) -> None:
    file = settings_file(tmp_path, "port = 9000\n")
    given = {"STANCHION_CONFIG": str(file), "STANCHION_METRICS_TOKEN": TOKEN}
    done = command(tmp_path / "a.db", "config", "show", "--json", **given)
    assert (done.returncode, TOKEN in done.stdout) == (0, False)
    told = {one["name"]: (one["value"], one["source"]) for one in json.loads(done.stdout)}
    assert len(told) == len(known(Settings))
    assert told["STANCHION_PORT"] == ("9000", str(file))
    assert told["STANCHION_METRICS_TOKEN"] == ("********", "STANCHION_METRICS_TOKEN")
    assert told["STANCHION_HOST"] == ("127.0.0.1", "default")
    plain = command(tmp_path / "a.db", "config", "show", **given).stdout
    assert TOKEN not in plain and "(default)" in plain


def test_check_says_whether_the_service_can_start(tmp_path: Path) -> None:
    database = tmp_path / "a.db"
    good = command(database, "config", "check")
    assert (good.returncode, good.stdout.strip()) == (0, "The settings can be used.")
    refused = command(database, "config", "check", STANCHION_PORT="many")
    assert (refused.returncode, "STANCHION_PORT" in refused.stderr) == (2, True)
    gone = command(tmp_path / "none" / "a.db", "config", "check", STANCHION_RULES_OVERLAY="/none")
    assert gone.returncode == 1
    assert "STANCHION_RULES_OVERLAY: /none cannot be read." in gone.stderr
    assert "STANCHION_DATABASE" in gone.stderr
    file = settings_file(tmp_path, "prt = 1\n")
    assert command(database, "config", "check", "--config", str(file)).returncode == 2


def test_a_command_takes_the_file_too(tmp_path: Path) -> None:
    file = settings_file(tmp_path, f'database = "{tmp_path / "of_file.db"}"\n')
    # the environment, which names another database, wins
    done = command(tmp_path / "of_environment.db", "migrate", "--config", str(file))
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "of_environment.db").exists()
    assert not (tmp_path / "of_file.db").exists()


def test_the_server_is_asked_whether_both_roles_can_be_used() -> None:
    with database() as place:
        good = command(place, "config", "check")
        assert (good.returncode, good.stderr) == (0, "")
        shown = command(place, "config", "show").stdout
        assert place.write not in shown and "STANCHION_POSTGRES_READ  ********" in re.sub(
            " +", "  ", shown
        )
        held = Server(place.write, place.write)
        bad = command(held, "config", "check")
    assert bad.returncode == 1
    assert "STANCHION_POSTGRES_READ: The server does not hold this role" in bad.stderr


def test_the_addresses_of_a_server_come_from_files_of_their_own(tmp_path: Path) -> None:
    for name in ("write", "read"):
        (tmp_path / name).write_text(f"host=db.example user={name} password=a-secret\n")
    settings, _ = sourced(
        {
            "STANCHION_POSTGRES_FILE": str(tmp_path / "write"),
            "STANCHION_POSTGRES_READ_FILE": str(tmp_path / "read"),
            "STANCHION_WORKERS": "4",
        }
    )
    assert settings.workers == 4
    assert settings.place == Server(
        "host=db.example user=write password=a-secret",
        "host=db.example user=read password=a-secret",
    )


def test_a_server_that_cannot_be_reached_is_said_in_one_line_whatever_was_asked() -> None:
    nowhere = Server("host=127.0.0.1 port=1 dbname=none user=me password=a-secret")
    for words in (("serve", "--port", "0"), ("audit", "verify"), ("org", "list"), ("migrate",)):
        told = command(nowhere, *words)
        assert told.returncode == 3, words
        assert told.stderr.startswith("The PostgreSQL server cannot be used: ")
        assert told.stderr.count("\n") == 1 and "a-secret" not in told.stderr
