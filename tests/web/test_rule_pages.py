"""Is the whole rule book to be read, with its sources?"""

from service.rules.load import load_book
from tests.web.world import World


async def test_the_summary_names_every_method_and_move(running: World) -> None:
    book = load_book()
    summary = (await running.client.get("/v1/rules")).json()
    assert summary["rule_book"]["digest"] == book.ref.digest
    assert {one["id"] for one in summary["methods"]} == set(book.methods)
    assert {one["id"] for one in summary["moves"]} == set(book.moves)
    supports = [one["support"] for one in summary["methods"]]
    assert supports == sorted(supports)


async def test_every_method_and_move_is_read_by_its_id(running: World) -> None:
    book = load_book()
    for method in book.methods:
        read = (await running.client.get(f"/v1/rules/methods/{method}")).json()
        assert read["id"] == method
        assert read["citation"]["source"] in book.sources
    for move in book.moves:
        assert (await running.client.get(f"/v1/rules/moves/{move}")).json()["move"] == move


async def test_what_is_not_in_the_book_is_not_found(running: World) -> None:
    for path in ("methods/flying", "moves/flying"):
        assert (await running.client.get(f"/v1/rules/{path}")).status_code == 404


async def test_stages_and_sources_are_told_by_their_ids(running: World) -> None:
    book = load_book()
    assert set((await running.client.get("/v1/rules/stages")).json()) == set(book.stages)
    assert set((await running.client.get("/v1/rules/sources")).json()) == set(book.sources)
