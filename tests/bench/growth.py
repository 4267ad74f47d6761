"""How many bytes does a screen take, and how fast are screens kept, as the record grows?

``python -m tests.bench.growth [--screens 10000 100000] [--stores file server] [--json FILE]``

Not a test: it asserts nothing and takes minutes. The samples are kept over and over, with all their
documents, for a new patient every eight screens, by 64 callers at once; every commit is on disk.
Rates depend on the machine: compare those of one run only.
"""

import argparse
import asyncio
import json
import sqlite3
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import psycopg
from msgspec.structs import replace

from service.application.ports import Assessment, NewScreen, Once
from service.demo.scenario import read
from service.domain.record import Principal
from service.domain.screen import Screen
from service.domain.value import Identifier
from service.rules.features import pack
from service.rules.load import load_book
from service.rules.norms import score_tests
from service.rules.plan import PlanIds, build_plan
from service.rules.profile import profile_of
from service.storage.ids import TimeOrderedIds
from service.storage.migrate import migrate
from service.storage.organisations import create_organisation
from service.storage.place import Place, Server
from service.storage.store import Store, open_store
from tests.house.tree import ROOT
from tests.storage.servers import database

STORES = ("file", "server")
CALLERS = 64
SCREENS_OF_A_PATIENT = 8
MEASURED = 0.1
"""The part of the screens at the end of which the rate is taken."""


def now() -> datetime:
    return datetime.now(UTC)


def assessed() -> list[tuple[Screen, Assessment]]:
    """The samples with all that the rules make of them."""
    book = load_book()
    told = []
    for sample in read(ROOT / "samples"):
        content = sample.screen
        tests = score_tests(book, content)
        profile = profile_of(book, content, tests)
        plan = build_plan(book, content, profile, PlanIds("", "", 1))
        told.append((content, Assessment(profile, tests, plan, pack(profile))))
    return told


class Ward:
    """Posts sample after sample into one store."""

    def __init__(self, store: Store, by: Principal) -> None:
        self._store = store
        self._by = by
        self._new_id = TimeOrderedIds(now)
        self._samples = assessed()
        self._numbers = count()

    async def post(self, many: int) -> float:
        """Screens a second."""
        began = time.perf_counter()
        left = iter(range(many))
        await asyncio.gather(*(self._call(left) for _ in range(CALLERS)))
        return many / (time.perf_counter() - began)

    async def _call(self, left: Iterator[int]) -> None:
        for _ in left:
            await self._store.keep(self._new(next(self._numbers)))

    def _new(self, number: int) -> NewScreen:
        content, made = self._samples[number % len(self._samples)]
        whose = Identifier(
            system="urn:oid:2.999.7", value=f"H-{number // SCREENS_OF_A_PATIENT:09d}"
        )
        content = replace(
            content,
            patient=replace(content.patient, identifier=whose),
            observed_at=now() - timedelta(seconds=1),
            source_id=f"source-{number:012d}",
        )
        screen, plan = self._new_id(), self._new_id()
        made = replace(made, plan=replace(made.plan, id=plan, screen_id=screen))
        once = Once("POST /v1/screens", self._new_id(), "d" * 64)
        return NewScreen(self._by, self._new_id(), screen, content, made, once)


async def grown(place: Place, steps: list[int]) -> list[dict[str, Any]]:
    """What was measured at each size."""
    migrate(place)
    org = create_organisation(place, now, "Harbour House", "UTC").org
    store = open_store(place, now, TimeOrderedIds(now))
    await store.start()
    ward, kept, told = Ward(store, Principal(org, "cred-1", "ward system")), 0, []
    for size in steps:
        measured = int(size * MEASURED)
        await ward.post(size - kept - measured)
        rate = await ward.post(measured)
        kept = size
        sizes = sizes_of(place)
        total = sum(sizes.values())
        told.append(
            {
                "screens": size,
                "screens_a_second": round(rate),
                "bytes": total,
                "bytes_a_screen": round(total / size),
                "bytes_a_screen_by_table": {
                    name: round(taken / size) for name, taken in sorted(sizes.items())
                },
            }
        )
        sys.stderr.write(f"{json.dumps(told[-1])}\n")
    await store.close()
    return told


def sizes_of(place: Place) -> dict[str, int]:
    """Bytes of each table with its indexes."""
    if isinstance(place, Server):
        with psycopg.connect(place.write, autocommit=True) as connection:
            connection.execute("VACUUM")
            found = connection.execute(
                "SELECT relname, pg_total_relation_size(oid) FROM pg_class"
                " WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace"
            )
            return {str(name): int(size) for name, size in found.fetchall()}
    with closing(sqlite3.connect(place)) as connection:
        connection.execute("PRAGMA wal_checkpoint(PASSIVE)")
        return dict(
            connection.execute(
                "SELECT tbl_name, sum(pgsize) FROM dbstat JOIN sqlite_master USING (name)"
                " GROUP BY tbl_name"
            ).fetchall()
        )


def on_disk(server: Server) -> None:
    """The server of the tests saves itself the disk; here it may not."""
    with psycopg.connect(server.write, autocommit=True) as connection:
        for setting in ("fsync", "full_page_writes", "synchronous_commit"):
            connection.execute(f"ALTER SYSTEM SET {setting} = on".encode())
        connection.execute("SELECT pg_reload_conf()")


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--screens", type=int, nargs="+", default=[10_000])
    asked.add_argument(
        "--stores", nargs="+", choices=("file", "server"), default=["file", "server"]
    )
    asked.add_argument("--json", type=Path)
    args = asked.parse_args()
    told = {}
    for name in args.stores:
        with ExitStack() as stack:
            place: Place
            if name == "file":
                place = Path(stack.enter_context(TemporaryDirectory())) / "record.db"
            else:
                place = stack.enter_context(database())
                on_disk(place)
            told[name] = asyncio.run(grown(place, sorted(args.screens)))
    text = json.dumps(told, indent=2)
    if args.json:
        args.json.write_text(text, encoding="utf-8")
    sys.stdout.write(f"{text}\n")


if __name__ == "__main__":
    main()
