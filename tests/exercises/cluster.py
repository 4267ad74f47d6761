"""How do etcd, three databases under Patroni and HAProxy run side by side on loopback?

With the configuration that ships in ``docker/ha``; addresses and folders alone are others.
"""

import os
import re
import subprocess
from pathlib import Path
from typing import Any

import httpx
import psycopg
import yaml
from msgspec import Struct

from service.storage.place import Server
from tests.exercises.parts import HA, Part, family, free_ports, give, until

NODES = (1, 2, 3)
BINARIES = "/usr/lib/postgresql/15/bin"
START_SECONDS = 120.0


class Cluster(Struct):
    """``place``: the record as the service reaches it, through HAProxy."""

    folder: Path
    etcd: dict[int, Part]
    nodes: dict[int, Part]
    haproxy: Part
    health: dict[int, int]
    direct: dict[int, int]
    place: Server

    def start(self) -> None:
        for part in (*self.etcd.values(), *self.nodes.values(), self.haproxy):
            part.start()
        until("a primary with its standby", self.whole, START_SECONDS)

    def end(self) -> None:
        for part in (self.haproxy, *self.nodes.values(), *self.etcd.values()):
            part.thaw()
            part.kill()

    def primary(self) -> int | None:
        """The node that says it leads."""
        leading = [node for node in NODES if self._status(node, "primary") == 200]
        return leading[0] if len(leading) == 1 else None

    def synchronous(self) -> list[int]:
        """The standbys whose word a commit waits for."""
        return [node for node in NODES if self._status(node, "synchronous") == 200]

    def whole(self) -> bool:
        """One leads, one stands by for each commit, one more follows."""
        return (
            self.primary() is not None
            and len(self.synchronous()) == 1
            and all(self._status(node, "health") == 200 for node in NODES)
            and sum(self._status(node, "replica") == 200 for node in NODES) == 2
        )

    def etcd_leader(self) -> int | None:
        for node, part in self.etcd.items():
            url = part.environment["ETCD_ADVERTISE_CLIENT_URLS"]
            told = self._etcdctl(url)
            if told is not None and told:
                return node
        return None

    def switch_over(self, to: int) -> None:
        """As an operator does it, by Patroni's own interface."""
        password = (self.folder / "secrets" / "restapi").read_text(encoding="ascii")
        leader = self.primary()
        answer = httpx.post(
            f"http://127.0.0.1:{self.health[leader or 1]}/switchover",
            json={"leader": f"postgres{leader}", "candidate": f"postgres{to}"},
            auth=("patroni", password),
            timeout=60,
        )
        assert answer.status_code == 200, answer.text

    def send_away(self) -> None:
        """Every connection of the service, ended by the server."""
        with psycopg.connect(self.place.write, autocommit=True) as connection:
            connection.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
                " WHERE datname = current_database() AND pid <> pg_backend_pid()"
                " AND usename = current_user"
            )

    def _status(self, node: int, what: str) -> int:
        try:
            return httpx.get(f"http://127.0.0.1:{self.health[node]}/{what}", timeout=1).status_code
        except httpx.TransportError:
            return 0

    def _etcdctl(self, url: str) -> bool | None:
        """Whether the member at ``url`` leads; None where it does not answer."""
        secrets = self.folder / "secrets"
        told = subprocess.run(
            [
                "etcdctl",
                f"--endpoints={url}",
                f"--cacert={secrets / 'ca.crt'}",
                f"--cert={secrets / 'node.crt'}",
                f"--key={secrets / 'node.key'}",
                "--command-timeout=2s",
                "endpoint",
                "status",
                "--write-out=fields",
            ],
            env={**os.environ, "ETCDCTL_API": "3"},
            capture_output=True,
            text=True,
            check=False,
        )
        member = re.search(r'"MemberID" : (\d+)', told.stdout)
        leader = re.search(r'"Leader" : (\d+)', told.stdout)
        return None if member is None or leader is None else member[1] == leader[1]


def laid_out(folder: Path, programs: str = "") -> Cluster:
    """The parts below ``folder``, with secrets made for them, none started yet. ``programs``: where
    they are looked for before the places of the system."""
    client, peer, sql, health = (dict(zip(NODES, free_ports(3), strict=True)) for _ in range(4))
    (way_in,) = free_ports(1)
    secrets = folder / "secrets"
    subprocess.run(
        ["sh", str(HA / "secrets.sh"), str(secrets)],
        env={
            **os.environ,
            "SERVICE_HOST": "127.0.0.1",
            "SERVICE_PORT": str(way_in),
            "SERVICE_ROOT": str(secrets / "ca.crt"),
        },
        check=True,
    )
    hosts = ",".join(f"127.0.0.1:{port}" for port in client.values())
    cluster = Cluster(
        folder,
        {node: _etcd(folder, node, client, peer) for node in NODES},
        {node: _node(folder, node, hosts, (sql[node], health[node])) for node in NODES},
        _haproxy(folder, way_in, sql, health),
        health,
        sql,
        Server(
            *((secrets / name).read_text(encoding="ascii") for name in ("address", "address_read"))
        ),
    )
    for part in (*cluster.etcd.values(), *cluster.nodes.values(), cluster.haproxy):
        part.environment["PATH"] = f"{programs}:{part.environment['PATH']}".lstrip(":")
    give(folder)
    folder.chmod(0o755)
    return cluster


def _part(folder: Path, name: str, words: list[str], more: dict[str, str]) -> Part:
    home = folder / name
    home.mkdir()
    environment = {
        "PATH": f"{BINARIES}:/usr/bin:/bin:/usr/sbin:/sbin",
        "SECRETS": str(folder / "secrets"),
        "LC_ALL": "C.UTF-8",
        **more,
    }
    return Part(name, ["sh", str(HA / "node.sh"), *words], environment, home / "log")


def _etcd(folder: Path, node: int, client: dict[int, int], peer: dict[int, int]) -> Part:
    urls = {each: f"https://127.0.0.1:{port}" for each, port in peer.items()}
    mine = f"https://127.0.0.1:{client[node]}"
    more = {
        "ETCD_NAME": f"etcd{node}",
        "ETCD_DATA_DIR": str(folder / f"etcd{node}" / "data"),
        "ETCD_LISTEN_CLIENT_URLS": mine,
        "ETCD_ADVERTISE_CLIENT_URLS": mine,
        "ETCD_LISTEN_PEER_URLS": urls[node],
        "ETCD_INITIAL_ADVERTISE_PEER_URLS": urls[node],
        "ETCD_INITIAL_CLUSTER": ",".join(f"etcd{each}={url}" for each, url in urls.items()),
        "ETCD_INITIAL_CLUSTER_STATE": "new",
    }
    return _part(folder, f"etcd{node}", ["etcd"], more)


def _node(folder: Path, node: int, hosts: str, ports: tuple[int, int]) -> Part:
    home = folder / f"postgres{node}"
    file = folder / f"postgres{node}.yaml"
    text = (HA / "patroni.yaml").read_text(encoding="utf-8")
    text = text.replace("/run/secrets", str(folder / "secrets")).replace("/opt/ha", str(HA))
    settings: dict[str, Any] = yaml.safe_load(text)
    settings["etcd3"]["hosts"] = hosts
    settings["postgresql"]["pgpass"] = str(home / "pgpass")
    settings["postgresql"]["parameters"]["unix_socket_directories"] = str(home)
    file.write_text(yaml.safe_dump(settings), encoding="utf-8")
    sql, health = (f"127.0.0.1:{port}" for port in ports)
    more = {
        "PATRONI_FILE": str(file),
        "PATRONI_NAME": f"postgres{node}",
        "PATRONI_POSTGRESQL_DATA_DIR": str(home / "data"),
        "PATRONI_POSTGRESQL_LISTEN": sql,
        "PATRONI_POSTGRESQL_CONNECT_ADDRESS": sql,
        "PATRONI_RESTAPI_LISTEN": health,
        "PATRONI_RESTAPI_CONNECT_ADDRESS": health,
    }
    part = _part(folder, f"postgres{node}", ["patroni"], more)
    part.orphans = lambda: _server_of(home / "data" / "postmaster.pid")
    return part


def _server_of(file: Path) -> list[int]:
    """The server's processes, from the note that it keeps."""
    try:
        return family(int(file.read_text(encoding="ascii").split("\n", 1)[0]))
    except (OSError, ValueError):
        return []


def _haproxy(folder: Path, way_in: int, sql: dict[int, int], health: dict[int, int]) -> Part:
    text = (
        (HA / "haproxy.cfg")
        .read_text(encoding="utf-8")
        .replace("bind :5432", f"bind 127.0.0.1:{way_in}")
    )
    for node in NODES:
        text = text.replace(
            f"postgres{node}:5432 check port 8008",
            f"127.0.0.1:{sql[node]} check port {health[node]}",
        )
    file = folder / "haproxy.cfg"
    file.write_text(text, encoding="utf-8")
    return _part(folder, "haproxy", ["haproxy"], {"HAPROXY_FILE": str(file)})
