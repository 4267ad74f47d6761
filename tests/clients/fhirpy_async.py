"""How does fhirpy do what it is told, on an event loop?"""

import asyncio
from collections.abc import Callable, Coroutine
from typing import Any

from fhirpy import AsyncFHIRClient

from tests.clients.driver import Document, Place
from tests.clients.fhirpy_sync import ids_of, plain, refusals


class FhirpyAsync:
    def __init__(self, place: Place) -> None:
        self.place = place
        self.runner = asyncio.Runner()

    def metadata(self) -> Document:
        return self._run(lambda client: client.execute("metadata", method="get"))

    def read(self, kind: str, id: str) -> Document:
        return self._run(lambda client: client.get(kind, id))

    def pages(self, kind: str, query: dict[str, str]) -> list[Document]:
        """The client hides its pages: they are seen where it fetches them."""
        seen: list[Document] = []

        async def search(client: Any) -> Any:
            fetch = client._fetch_resource

            async def fetched(*asked: Any, **more: Any) -> Any:
                page = await fetch(*asked, **more)
                seen.append(plain(page))
                return page

            client._fetch_resource = fetched
            found = [one.id async for one in client.resources(kind).search(**query)]
            assert found == ids_of(seen)

        self._run(search)
        return seen

    def create(self, resource: Document) -> Document:
        return self._run(lambda client: _made(client, resource).create())

    def update(self, resource: Document, if_match: str) -> Document:
        return self._run(lambda client: _made(client, resource).update(), **{"If-Match": if_match})

    def transaction(self, bundle: Document) -> Document:
        return self._run(lambda client: client.execute("", data=bundle))

    def close(self) -> None:
        self.runner.close()

    def _run(self, ask: Callable[[Any], Coroutine[Any, Any, Any]], **headers: str) -> Document:
        async def asked() -> Any:
            client = AsyncFHIRClient(
                self.place.base, authorization=f"Bearer {self.place.key}", extra_headers=headers
            )
            return await ask(client)

        with refusals():
            return plain(self.runner.run(asked()))


def _made(client: Any, resource: Document) -> Any:
    return client.resource(resource["resourceType"], **resource)
