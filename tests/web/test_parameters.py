"""Do the shared parameters say what the readers of parameters hold to?"""

import re
from typing import get_args

from service.web import parameters
from service.web.parameters import id_of
from tests.web.world import World, screen


def test_an_id_is_a_needed_part_of_the_path() -> None:
    one = id_of("screen_id", "screen")
    assert (one.name, one.place, one.required) == ("screen_id", "path", True)
    assert "screen" in one.text


async def test_every_tag_that_is_given_may_be_sent_back(running: World) -> None:
    (_, meta) = get_args(parameters.Tag)
    response = await running.client.post("/v1/screens", json=screen())
    assert re.search(meta.pattern, response.headers["etag"])


async def test_every_id_that_is_given_fits_its_parameter(running: World) -> None:
    (_, meta) = get_args(parameters.Id)
    kept = await running.post(screen())
    for made in (kept["screen"]["id"], kept["screen"]["patient_id"], kept["plan"]["id"]):
        assert re.search(meta.pattern, made)
        assert len(made) <= meta.max_length
