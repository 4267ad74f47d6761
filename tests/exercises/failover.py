"""Does a highly available database lose a word of what was answered, though it is killed 20 times?

    python -m tests.exercises.failover [--kills 20] [--only kills|incidents] [--programs FOLDER]

Everything runs on loopback: etcd, three databases under Patroni, HAProxy, two serving processes,
and clients that write all the time. Wants the Debian packages postgresql-15, etcd-server,
etcd-client and haproxy, and the patroni of ``docker/ha/requirements.txt``, installed where the
account of the database can read it: ``--programs`` names that folder. It is no test: it takes
half an hour and a machine of its own.
"""

import argparse
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from random import Random

from msgspec import Struct, field

from tests.exercises import incidents
from tests.exercises.clients import Wards
from tests.exercises.cluster import Cluster, laid_out
from tests.exercises.parts import adopt_orphans, until
from tests.exercises.verdict import faults
from tests.system.server import command, log_of, serving

CLIENTS = 6
WHOLE_S = 180.0
ANSWERED_S = 120.0
BEFORE_S = 1.0
CLEAR_S = 1.0
"""Answers so long after a kill were not on their way already."""


class Figures(Struct):
    """Seconds without an answered write, by what was done."""

    outages: dict[str, list[float]] = field(default_factory=dict)


def main() -> int:
    asked = _arguments()
    adopt_orphans()
    folder = Path(tempfile.mkdtemp(prefix="stanchion-failover-"))
    cluster = laid_out(folder, asked.programs)
    _say(f"{datetime.now(UTC):%Y-%m-%d %H:%M} in {folder}")
    figures = Figures()
    try:
        cluster.start()
        with _served(cluster) as (base, wards):
            if asked.only != "incidents":
                _kills(cluster, wards, figures, asked.kills)
            if asked.only != "kills":
                for name, incident in incidents.ALL:
                    _during(cluster, wards, figures, name, incident)
            wards.stop()
            until("a whole cluster", cluster.whole, WHOLE_S)
            _tell(figures, wards)
            found = faults(base, cluster.place, wards.told)
    finally:
        cluster.end()
    _say("\n  ".join([f"faults: {len(found)}", *found[:40]]))
    return 1 if found else 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--only", choices=["kills", "incidents"])
    parser.add_argument("--programs", default="", help="a folder with another patroni")
    return parser.parse_args()


@contextmanager
def _served(cluster: Cluster) -> Iterator[tuple[str, Wards]]:
    """Two serving processes on the cluster, for two organisations, and wards that write."""
    migrated = command(cluster.place, "migrate")
    assert migrated.returncode == 0, migrated.stderr
    keys = [_key(cluster, name) for name in ("Harbour", "Hill")]
    more = {"STANCHION_WORKERS": "2", "STANCHION_RATE": "off"}
    with serving(cluster.place, keys[0], **more) as server:
        wards = Wards(server.base, keys, CLIENTS)
        wards.start()
        _say(f"log of the service: {log_of(cluster.place)}")
        try:
            yield server.base, wards
        finally:
            wards.stop()
        ended = server.stop()
        _say(f"the service ended with {ended}")


def _key(cluster: Cluster, name: str) -> str:
    made = command(cluster.place, "org", "create", name)
    assert made.returncode == 0, made.stderr
    org = command(cluster.place, "org", "list").stdout
    line = next(line for line in org.splitlines() if name in line)
    created = command(cluster.place, "keys", "create", "wards", "--organisation", line.split()[0])
    assert created.returncode == 0, created.stderr
    return created.stdout.splitlines()[0]


def _kills(cluster: Cluster, wards: Wards, figures: Figures, count: int) -> None:
    chance = Random(4711)  # noqa: S311 - the moments of the kills
    for number in range(1, count + 1):
        until("a whole cluster", cluster.whole, WHOLE_S)
        leading = cluster.primary()
        assert leading is not None
        wards.hurry = True
        time.sleep(BEFORE_S + chance.random())
        killed = time.monotonic()
        cluster.nodes[leading].kill()
        outage = _outage(wards, killed)
        wards.hurry = False
        figures.outages.setdefault("kill of the primary", []).append(outage)
        _say(
            f"kill {number}: postgres{leading}, then postgres{cluster.primary()}:"
            f" {outage:.1f} s; {len(wards.told.answered)} answered",
        )
        cluster.nodes[leading].start()


def _during(
    cluster: Cluster,
    wards: Wards,
    figures: Figures,
    name: str,
    incident: Callable[[Cluster, Wards], None],
) -> None:
    until("a whole cluster", cluster.whole, WHOLE_S)
    wards.hurry = True
    time.sleep(BEFORE_S)
    began = time.monotonic()
    try:
        incident(cluster, wards)
    except (TimeoutError, AssertionError) as error:
        wards.told.gave_up.append(f"{name}: {error}")
    until("an answer", lambda: bool(wards.answered_after(time.monotonic() - 0.5)), ANSWERED_S)
    outage = _longest_pause(wards, began)
    wards.hurry = False
    figures.outages.setdefault(name, []).append(outage)
    _say(f"{name}: {outage:.1f} s; {len(wards.told.answered)} answered")


def _outage(wards: Wards, killed: float) -> float:
    """From the kill to the first answered write after it."""
    until("an answered write", lambda: bool(wards.answered_after(killed + CLEAR_S)), ANSWERED_S)
    return wards.answered_after(killed + CLEAR_S)[0] - killed


def _longest_pause(wards: Wards, since: float) -> float:
    moments = [since, *wards.answered_after(since)]
    return max(later - at for at, later in pairwise(moments))


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def _tell(figures: Figures, wards: Wards) -> None:
    told = wards.told
    for name, seconds in figures.outages.items():
        _say(
            f"{name}: {len(seconds)} times; {min(seconds):.1f} / {statistics.median(seconds):.1f}"
            f" / {max(seconds):.1f} s (least, median, most)"
        )
    _say(f"answered: {len(told.answered)}; at once {sum(e.tries == 1 for e in told.answered)}")
    _say(f"answers to writes: {dict(told.met)}")
    _say(f"answers to reads: {dict(told.read)}")
    _say(f"503 without Retry-After: {told.no_hint}")


if __name__ == "__main__":
    sys.exit(main())
