"""How does fhirpy do what it is told, one call after the other?"""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from fhirpy import SyncFHIRClient
from fhirpy.base.exceptions import MultipleResourcesFound, OperationOutcome, ResourceNotFound

from tests.clients.driver import Document, Place, Refused


class FhirpySync:
    def __init__(self, place: Place) -> None:
        self.place = place
        self.client = self.with_headers()

    def with_headers(self, **headers: str) -> Any:
        """The client takes headers once, when it is made."""
        return SyncFHIRClient(
            self.place.base, authorization=f"Bearer {self.place.key}", extra_headers=headers
        )

    def metadata(self) -> Document:
        return plain(self.client.execute("metadata", method="get"))

    def read(self, kind: str, id: str) -> Document:
        with refusals():
            return plain(self.client.get(kind, id))

    def pages(self, kind: str, query: dict[str, str]) -> list[Document]:
        """The client hides its pages: they are seen where it fetches them."""
        seen: list[Document] = []
        client = self.with_headers()
        client._fetch_resource = remembering(client._fetch_resource, seen)
        found = client.resources(kind).search(**query).fetch_all()
        assert [one.id for one in found] == ids_of(seen)
        return seen

    def create(self, resource: Document) -> Document:
        with refusals():
            return plain(self.client.resource(resource["resourceType"], **resource).create())

    def update(self, resource: Document, if_match: str) -> Document:
        client = self.with_headers(**{"If-Match": if_match})
        with refusals():
            return plain(client.resource(resource["resourceType"], **resource).update())

    def transaction(self, bundle: Document) -> Document:
        with refusals():
            return plain(self.client.execute("", data=bundle))

    def close(self) -> None:
        pass


def plain(value: Any) -> Document:
    """What the client holds, as the JSON that it stands for."""
    document: Document = json.loads(json.dumps(value, default=dict))
    return document


def ids_of(pages: list[Document]) -> list[str]:
    return [entry["resource"]["id"] for page in pages for entry in page.get("entry", [])]


def remembering(fetch: Callable[..., Any], seen: list[Document]) -> Callable[..., Any]:
    def fetched(*asked: Any, **more: Any) -> Any:
        page = fetch(*asked, **more)
        seen.append(plain(page))
        return page

    return fetched


@contextmanager
def refusals() -> Iterator[None]:
    """The client has a class for some statuses, and does not tell the others."""
    try:
        yield
    except ResourceNotFound as error:
        raise Refused(404, json.loads(str(error))) from error
    except MultipleResourcesFound as error:
        raise Refused(412, json.loads(str(error))) from error
    except OperationOutcome as error:
        raise Refused(None, plain(error.resource)) from error
