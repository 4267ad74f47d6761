"""Is every operation routed, every route an operation, and the life of the application framed?"""

import gc
from pathlib import Path
from typing import Any

from service.web.application import handlers
from service.web.routes import OPERATIONS
from tests.web.world import World, world


def test_every_route_and_method_is_in_the_table_and_the_other_way_round() -> None:
    routed = {
        (method, path.replace(":str}", "}"))
        for handler in handlers(OPERATIONS)
        for path in handler.paths
        for method in handler.http_methods
    }
    assert routed == {(one.method, one.path) for one in OPERATIONS}


def test_every_operation_has_a_name_of_its_own() -> None:
    names = [one.id for one in OPERATIONS]
    assert len(names) == len(set(names))


def test_every_parameter_in_a_path_is_described() -> None:
    for one in OPERATIONS:
        in_path = {parameter.name for parameter in one.parameters if parameter.place == "path"}
        assert {f"{{{name}}}" for name in in_path} == {
            part for part in one.path.split("/") if part.startswith("{")
        }


async def test_what_is_built_for_good_is_left_out_of_collection(running: World) -> None:
    assert (await running.nobody.get("/health/startup")).status_code == 200
    assert gc.get_freeze_count() > 0


async def test_the_store_is_closed_at_the_end(tmp_path: Path) -> None:
    async with world(tmp_path) as running:
        transport: Any = running.client._transport
        assert transport.app._router.state.started
    # the lock on the file is let go, or this would be refused
    async with world(tmp_path) as other:
        assert (await other.nobody.get("/health/ready")).status_code == 200
