"""Is a file found that lets a write be answered by one node alone, or anybody in?"""

from tests.house.availability import faults
from tests.house.conftest import Grow
from tests.house.tree import ROOT

FILES = (
    "compose-ha.yaml",
    "ha/patroni.yaml",
    "ha/haproxy.cfg",
    "ha/secrets.sh",
    "ha/requirements.txt",
)


def _broken(grow: Grow, name: str, good: str, bad: str) -> list[str]:
    """What is found where one file says something else."""
    files = {f"docker/{each}": (ROOT / "docker" / each).read_text() for each in FILES}
    assert good in files[f"docker/{name}"]
    files[f"docker/{name}"] = files[f"docker/{name}"].replace(good, bad)
    return faults(grow(files))


def test_what_ships_fits_together_and_opens_nothing() -> None:
    assert faults(ROOT) == []


def test_a_primary_that_goes_on_alone_is_found(grow: Grow) -> None:
    alone = _broken(
        grow, "ha/patroni.yaml", "synchronous_mode_strict: true", "synchronous_mode_strict: false"
    )
    assert alone == ["patroni.yaml: synchronous_mode_strict is not on"]


def test_a_leader_that_has_too_little_time_is_found(grow: Grow) -> None:
    said = _broken(grow, "ha/patroni.yaml", "ttl: 20", "ttl: 10")
    assert said == ["patroni.yaml: a leader may lose its word between two tries to renew it"]


def test_a_door_without_a_password_or_in_clear_is_found(grow: Grow) -> None:
    line = "hostssl stanchion stanchion,stanchion_read samenet scram-sha-256"
    for bad in (line.replace("scram-sha-256", "trust"), line.replace("hostssl", "host")):
        said = _broken(grow, "ha/patroni.yaml", line, bad)
        assert said == [f"patroni.yaml: lets in without a password or in clear: {bad}"]
    said = _broken(grow, "ha/patroni.yaml", "protocol: https", "protocol: http")
    assert said == ["patroni.yaml: etcd is asked by whoever likes"]
    said = _broken(grow, "compose-ha.yaml", "internal: true", "internal: false")
    assert said == ["compose-ha.yaml: the network of the database leads outside"]


def test_a_secret_in_sight_or_that_nothing_makes_is_found(grow: Grow) -> None:
    said = _broken(
        grow, "compose-ha.yaml", "PATRONI_NAME: postgres1", "PATRONI_SUPERUSER_PASSWORD: easy"
    )
    assert said == [
        "compose-ha.yaml: postgres1: PATRONI_SUPERUSER_PASSWORD is told to whoever looks"
    ]
    said = _broken(grow, "compose-ha.yaml", "rewind, restapi, owner", "rewind, restapi, nobody")
    assert said == [
        f"compose-ha.yaml: postgres{node}: nothing makes the secret nobody" for node in (1, 2, 3)
    ]


def test_nodes_that_are_not_led_to_or_not_looked_at_are_found(grow: Grow) -> None:
    said = _broken(
        grow, "ha/haproxy.cfg", "server postgres3 postgres3", "server postgres4 postgres4"
    )
    assert len(said) == 1 and said[0].startswith("haproxy.cfg: leads to ")
    said = _broken(grow, "ha/haproxy.cfg", "uri /primary", "uri /health")
    assert said == ["haproxy.cfg: lacks uri /primary"]
    said = _broken(grow, "ha/patroni.yaml", "etcd3:2379", "etcd4:2379")
    assert said == ["patroni.yaml: asks other members of etcd than there are"]


def test_a_patroni_that_loses_what_was_answered_is_found(grow: Grow) -> None:
    said = _broken(grow, "ha/requirements.txt", "patroni==4.", "patroni==3.0.")
    assert said == ["requirements.txt: this Patroni loses what was answered when a primary hangs"]


def test_a_careless_part_is_found(grow: Grow) -> None:
    said = _broken(grow, "compose-ha.yaml", "127.0.0.1:8741", "8741")
    assert said == ["compose-ha.yaml: stanchion: 8741:8741 is open to every network"]
    assert "compose-ha.yaml: etcd1: read_only is not set" in _broken(
        grow, "compose-ha.yaml", "  read_only: true\n", ""
    )
