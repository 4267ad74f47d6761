"""Do the files of the database that is meant to be there always fit together, and open nothing?"""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

from tests.house.containers import hardening

SAFE = ("synchronous_mode", "synchronous_mode_strict")
CHECKED = "uri /primary"
CUT = "on-marked-down shutdown-sessions"
LEAST_PATRONI = (3, 1)
"""Before, a primary that hung and came back took the lead from the one that had followed it."""
SECRET = re.compile(r"PASSWORD|SECRET|_KEY\b")


def faults(root: Path) -> list[str]:
    """Every place where a file of ``docker/ha`` leaves a door open or says other than the rest."""
    folder = root / "docker"
    compose = yaml.safe_load((folder / "compose-ha.yaml").read_text(encoding="utf-8"))
    patroni = yaml.safe_load((folder / "ha/patroni.yaml").read_text(encoding="utf-8"))
    haproxy = (folder / "ha/haproxy.cfg").read_text(encoding="utf-8")
    made = (folder / "ha/secrets.sh").read_text(encoding="utf-8")
    return [
        *hardening("compose-ha.yaml", compose["services"]),
        *_composition(compose, made),
        *_patroni(patroni),
        *_together(compose, patroni, haproxy),
        *_release((folder / "ha/requirements.txt").read_text(encoding="utf-8")),
    ]


def _composition(compose: dict[str, Any], made: str) -> Iterator[str]:
    if not compose["networks"]["inside"].get("internal"):
        yield "compose-ha.yaml: the network of the database leads outside"
    for name, service in compose["services"].items():
        for variable, value in service.get("environment", {}).items():
            if SECRET.search(variable) and not str(value).startswith("/run/secrets/"):
                yield f"compose-ha.yaml: {name}: {variable} is told to whoever looks"
        for secret in service.get("secrets", []):
            if secret not in compose["secrets"] or not re.search(rf"\b{re.escape(secret)}\b", made):
                yield f"compose-ha.yaml: {name}: nothing makes the secret {secret}"


def _patroni(patroni: dict[str, Any]) -> Iterator[str]:
    dcs = patroni["bootstrap"]["dcs"]
    yield from (f"patroni.yaml: {name} is not on" for name in SAFE if dcs.get(name) is not True)
    if dcs["loop_wait"] + 2 * dcs["retry_timeout"] > dcs["ttl"]:
        yield "patroni.yaml: a leader may lose its word between two tries to renew it"
    if patroni["etcd3"].get("protocol") != "https" or "cert" not in patroni["etcd3"]:
        yield "patroni.yaml: etcd is asked by whoever likes"
    for line in patroni["postgresql"]["pg_hba"]:
        kind, *_, way = line.split()
        if kind not in ("local", "hostssl") or way != "scram-sha-256":
            yield f"patroni.yaml: lets in without a password or in clear: {line}"


def _together(compose: dict[str, Any], patroni: dict[str, Any], haproxy: str) -> Iterator[str]:
    nodes = {name for name in compose["services"] if re.fullmatch(r"postgres\d", name)}
    led = set(re.findall(r"^\s*server (\S+) \1:5432 check port 8008", haproxy, re.MULTILINE))
    if led != nodes or len(nodes) < 3:
        yield f"haproxy.cfg: leads to {sorted(led)}, there are {sorted(nodes)}"
    yield from (f"haproxy.cfg: lacks {text}" for text in (CHECKED, CUT) if text not in haproxy)
    members = {name for name in compose["services"] if name.startswith("etcd")}
    if {host.partition(":")[0] for host in patroni["etcd3"]["hosts"]} != members:
        yield "patroni.yaml: asks other members of etcd than there are"


def _release(lock: str) -> Iterator[str]:
    found = re.search(r"^patroni==(\d+)\.(\d+)", lock, re.MULTILINE)
    if found is None or (int(found[1]), int(found[2])) < LEAST_PATRONI:
        yield "requirements.txt: this Patroni loses what was answered when a primary hangs"
