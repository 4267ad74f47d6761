"""How is a record kept as the release of today writes it, for all later ones to read?

``python -m tests.storage.keeping`` writes ``tests/storage/kept/v<schema>.sql``, told as SQL. Run it
before a migration step is added; a kept record is never written anew.
"""

import asyncio
import sqlite3
from collections.abc import Awaitable, Callable
from contextlib import closing
from datetime import timedelta
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

from service.application.ports import Merge, Once
from service.storage import keys
from service.storage.migrate import HEAD
from tests.storage.made import HOSPITAL, House, open_house

KEPT = Path(__file__).parent / "kept"


def main() -> None:
    file = KEPT / f"v{HEAD}.sql"
    if file.exists():
        raise FileExistsError(f"{file} is kept already.")
    with TemporaryDirectory() as folder:
        path = Path(folder) / "record.db"
        asyncio.run(_write(path))
        with closing(sqlite3.connect(path)) as connection:
            file.write_text("\n".join(connection.iterdump()) + "\n", encoding="utf-8")


async def _write(path: Path) -> None:
    """A screen corrected, one withdrawn, a plan that lapsed, one that ran out unseen, a merge."""
    house = await open_house(path)
    _make_keys(house, path)
    first, second, ran = house.new(), house.new(at=3, once=_ONCE, source_id="S-1"), house.new("H-8")
    deeds: tuple[Callable[[], Awaitable[object]], ...] = (
        lambda: house.store.keep(first),
        lambda: house.store.correct(house.correction(first, 1, 2)),
        lambda: house.store.keep(second),
        lambda: house.store.withdraw(house.withdrawal(second.screen_id)),
        lambda: house.store.keep(ran),
        lambda: house.store.keep(house.new("H-9")),
        lambda: house.store.keep(house.new("H-10", at=9)),
    )
    for deed in deeds:
        house.clock.go_on(seconds=1)
        await deed()
    gone, stays = [await house.store.find_patient(house.by.org, HOSPITAL, one) for one in _JOINED]
    assert gone is not None and stays is not None
    await house.store.merge(Merge(house.by, house.request(), gone.id, stays.id))
    house.clock.go_on(hours=25)
    await house.store.lapse(house.by, ran.assessment.plan.id, house.clock())
    await house.store.close()


_ONCE = Once("POST /v1/screens", "kept-key", "digest")
_JOINED = ("H-10", "H-1007")


def _make_keys(house: House, path: Path) -> None:
    """Keys that anybody may know: they open a record of nobody."""
    numbers = count()

    class Known:
        token_hex = staticmethod(lambda size: f"{next(numbers):0{2 * size}x}")
        token_urlsafe = staticmethod(lambda _: f"kept-secret-{'k' * 30}")

    org, clock = house.by.org, house.clock
    with patch.object(keys, "secrets", Known):
        keys.create_key(path, clock, org, "ward system")
        ends, scopes = clock() + timedelta(days=30), ["system/QuestionnaireResponse.c"]
        keys.create_key(path, clock, org, "import", ends, scopes)
        old = keys.create_key(path, clock, org, "old pharmacy")
        keys.revoke_key(path, clock, old.info.id)


if __name__ == "__main__":
    main()
