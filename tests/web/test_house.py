"""Does a handler find what the application was composed of?"""

from typing import Any, ClassVar

from service.rules.load import load_book
from service.web.house import house_of
from tests.web.world import World


async def test_a_handler_works_with_what_was_composed_at_start(running: World) -> None:
    class Asked:
        app = running.client._transport.app._router  # type: ignore[attr-defined]
        scope: ClassVar[Any] = {"state": {}}

    house = house_of(Asked())  # type: ignore[arg-type]
    assert house.service.book is load_book()
    assert house.service.clock is running.clock
    assert house.anyone is None
