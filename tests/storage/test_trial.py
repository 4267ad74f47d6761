"""Is the audit trail tried without a chain that grows?"""

from tests.storage.made import House, rows_of, sql_of


async def test_many_tries_leave_the_chains_as_they_were(house: House) -> None:
    await house.store.keep(house.new())
    before = sql_of(house.path, "SELECT * FROM audit")
    for _ in range(20):
        await house.store.check_audit()
    assert sql_of(house.path, "SELECT * FROM audit") == before
    assert rows_of(house.path, "audit") == len(before)
