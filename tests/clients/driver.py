"""What is asked of every client of others, whatever its language and its ways?"""

from typing import Any, Protocol

from msgspec import Struct

Document = dict[str, Any]


class Refused(Exception):
    """The server said no, as the client tells it: ``status`` where the client keeps it, and
    the body it came with."""

    def __init__(self, status: int | None, document: Document | None) -> None:
        super().__init__(f"{status} {document}")
        self.status = status
        self.document = document


class Place(Struct, frozen=True):
    """Which server: ``base`` of its FHIR and a ``key`` for it."""

    base: str
    key: str


class Driver(Protocol):
    """One client. Each answer is what the client made of the server's, as JSON again."""

    def metadata(self) -> Document: ...

    def read(self, kind: str, id: str) -> Document:
        """Raises Refused."""
        ...

    def pages(self, kind: str, query: dict[str, str]) -> list[Document]:
        """Every page of a search, by the client's own way of going on."""
        ...

    def create(self, resource: Document) -> Document:
        """The resource as it was kept. Raises Refused."""
        ...

    def update(self, resource: Document, if_match: str) -> Document:
        """The resource as it was kept. Raises Refused."""
        ...

    def transaction(self, bundle: Document) -> Document:
        """The answering Bundle. Raises Refused."""
        ...

    def close(self) -> None: ...
