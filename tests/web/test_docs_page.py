"""Does the page to try the interface come whole from here, from nowhere else?"""

import re

import pytest

from tests.web.world import World


async def test_every_part_that_the_page_names_is_served_here(running: World) -> None:
    page = await running.nobody.get("/docs")
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    parts = re.findall(r'(?:src|href)="([^"]+)"', page.text)
    assert len(parts) >= 4
    for part in parts:
        assert part.startswith("/"), "a part from elsewhere"
        response = await running.nobody.get(part)
        assert response.status_code == 200
        assert response.content


async def test_the_page_may_load_from_here_only(running: World) -> None:
    policy = (await running.nobody.get("/docs")).headers["content-security-policy"]
    assert "http" not in policy
    assert "script-src 'self';" in policy


@pytest.mark.parametrize(
    ("part", "kind"),
    [
        ("swagger-ui.css", "text/css"),
        ("swagger-ui-bundle.js", "text/javascript"),
        ("start.js", "text/javascript"),
        ("favicon-32x32.png", "image/png"),
    ],
)
async def test_each_part_has_its_type(running: World, part: str, kind: str) -> None:
    response = await running.nobody.get(f"/docs/{part}")
    assert response.headers["content-type"].startswith(kind)


async def test_nothing_else_of_the_package_is_served(running: World) -> None:
    for name in ("index.html", "swagger-ui.js", "..%2F..%2F__init__.py", "x"):
        assert (await running.nobody.get(f"/docs/{name}")).status_code == 404


async def test_the_document_is_served_beside_it(running: World) -> None:
    document = (await running.nobody.get("/openapi.json")).json()
    assert document["openapi"] == "3.1.0"
