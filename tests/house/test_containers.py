"""Is a container found that runs as root, writes where it likes, or installs what it likes?"""

import pytest

from tests.house.conftest import Grow
from tests.house.containers import faults
from tests.house.tree import ROOT

HARDENED = """
services:
  a:
    read_only: true
    cap_drop: [ALL]
    security_opt: ["no-new-privileges:true"]
    tmpfs: [/tmp]
    pids_limit: 9
    ports: ["127.0.0.1:1:1"]
"""
BUILT = """FROM python:3-slim AS build
RUN pip install --no-deps --no-build-isolation .
FROM python:3-slim
USER 10001:10001
VOLUME /data
HEALTHCHECK CMD ["python", "http://127.0.0.1/health/ready"]
ENTRYPOINT ["stanchion"]
"""


def test_the_container_runs_as_nobody_from_the_lock() -> None:
    assert faults(ROOT) == []


def test_a_hardened_container_has_no_fault(grow: Grow) -> None:
    assert faults(grow({"docker/Dockerfile": BUILT, "docker/compose.yaml": HARDENED})) == []


def test_a_careless_image_is_found(grow: Grow) -> None:
    careless = (
        "FROM python:latest\nRUN apt-get install curl\n"
        "RUN pip \\\n  install litestar\nCMD stanchion serve\n"
    )
    said = faults(grow({"docker/Dockerfile": careless, "docker/compose.yaml": HARDENED}))
    assert said == [
        "Dockerfile: what builds is not apart from what runs",
        "Dockerfile: runs as root",
        "Dockerfile: has no place to write to",
        "Dockerfile: cannot be asked whether it is well",
        "Dockerfile: is not asked whether it is ready",
        "Dockerfile: carries a tool that the service does not need",
        "Dockerfile: carries packages that the service does not need",
        "Dockerfile: is built on something else every day",
        "Dockerfile: installs what no hash vouches for: RUN pip    install litestar",
        "Dockerfile: a shell stands before the service: CMD stanchion serve",
    ]


def test_a_careless_composition_is_found(grow: Grow) -> None:
    careless = 'services:\n  a:\n    ports: ["80:80"]\n'
    said = faults(grow({"docker/Dockerfile": BUILT, "docker/compose.yaml": careless}))
    assert said == [
        "compose.yaml: a: read_only is not set",
        "compose.yaml: a: cap_drop is not set",
        "compose.yaml: a: security_opt is not set",
        "compose.yaml: a: tmpfs is not set",
        "compose.yaml: a: pids_limit is not set",
        "compose.yaml: a: 80:80 is open to every network",
    ]


@pytest.mark.parametrize(
    ("networks", "said"),
    [
        ("{inside: {internal: true}}", []),
        ("{inside: {}}", ["the database can be reached from outside, or reaches out"]),
    ],
)
def test_a_database_that_is_reached_from_outside_is_found(
    grow: Grow, networks: str, said: list[str]
) -> None:
    database = HARDENED.replace("  a:", "  postgres:").replace(
        'ports: ["127.0.0.1:1:1"]', "networks: [inside]"
    )
    root = grow(
        {
            "docker/Dockerfile": BUILT,
            "docker/compose.yaml": HARDENED,
            "docker/compose-postgres.yaml": f"{database}networks: {networks}\n",
        }
    )
    assert faults(root) == [f"compose-postgres.yaml: {one}" for one in said]
