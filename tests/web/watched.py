"""How does a test put other limits, checks or a log on a running application?"""

from typing import Any

from msgspec.structs import replace

from service.web.limits import Limits, Turnstile
from tests.web.world import World


def router_of(world: World) -> Any:
    return world.app._router


def watched(world: World, limits: Limits | None = None, **more: Any) -> None:
    """From now on ``world`` has these limits, and whatever else is named."""
    state = router_of(world).state
    if limits is not None:
        more["turnstile"] = Turnstile(limits)
    running = replace(state.house.running, **more)
    state.house = replace(state.house, running=running)
    world.app.running = running


def numbers(world: World) -> str:
    """The metrics as they stand."""
    return world.app.running.metrics.text().decode()
