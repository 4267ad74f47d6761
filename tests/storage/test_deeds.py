"""Is a refused write told to the audit trail, and raised only once that is on disk?"""

from collections.abc import Callable

import pytest

from service.application.ports import AuditEntry
from service.domain.problem import NotFound
from service.storage.batch import Batch
from service.storage.deeds import audited, giving, noted
from tests.storage.made import House, sql_of


async def test_a_refusal_is_in_the_trail_and_reaches_the_caller(house: House) -> None:
    entry = AuditEntry("screen.correct", house.by, "r-1", "")

    def refuse(_batch: Batch) -> Callable[[], None]:
        raise NotFound("No such screen.")

    with pytest.raises(NotFound):
        await house.store._writer.submit(lambda batch: audited(batch, entry, refuse))
    told = "SELECT json_extract(body, '$.outcome') FROM audit WHERE chain = 1"
    assert sql_of(house.path, told) == [("NotFound",)]


async def test_what_was_done_is_given_and_an_entry_noted(house: House) -> None:
    assert await house.store._writer.submit(lambda batch: giving(batch.at and 7)) == 7
    entry = AuditEntry("plan.read", house.by, "r-2", "ok")
    await house.store._writer.submit(lambda batch: noted(batch, entry), house.by.org)
    told = "SELECT json_extract(body, '$.action') FROM audit WHERE chain = 1"
    assert sql_of(house.path, told) == [("plan.read",)]
