"""How does the SMART client of Python, whose models are strict, do what it is told?"""

import json
from typing import Any, cast

import requests
from fhirclient.models.bundle import Bundle
from fhirclient.models.capabilitystatement import CapabilityStatement
from fhirclient.models.fhirelementfactory import FHIRElementFactory
from fhirclient.models.fhirsearch import FHIRSearch
from fhirclient.server import FHIRNotFoundException, FHIRServer

from tests.clients.driver import Document, Place, Refused


class SmartPython:
    """Every answer went through the client's models, which refuse what they do not know."""

    def __init__(self, place: Place) -> None:
        self.server = FHIRServer(None, place.base)
        self.server.session.headers["Authorization"] = f"Bearer {place.key}"

    def metadata(self) -> Document:
        return _json(CapabilityStatement.read_from("metadata", self.server))

    def read(self, kind: str, id: str) -> Document:
        return self._asked(lambda: type(_model({"resourceType": kind})).read(id, self.server))

    def pages(self, kind: str, query: dict[str, str]) -> list[Document]:
        search = FHIRSearch(type(_model({"resourceType": kind})), query)
        return [_json(page) for page in search.perform_iter(self.server)]

    def create(self, resource: Document) -> Document:
        return self._asked(lambda: _model(_model(resource).create(self.server)))

    def update(self, resource: Document, if_match: str) -> Document:
        self.server.session.headers["If-Match"] = if_match
        try:
            return self._asked(lambda: _model(_model(resource).update(self.server)))
        finally:
            del self.server.session.headers["If-Match"]

    def transaction(self, bundle: Document) -> Document:
        return self._asked(lambda: Bundle(Bundle(bundle).create(self.server)))

    def close(self) -> None:
        self.server.session.close()

    def _asked(self, ask: Any) -> Document:
        try:
            return _json(ask())
        except FHIRNotFoundException as error:
            raise _refused(error.response) from error
        except requests.HTTPError as error:
            raise _refused(cast("requests.Response", error.response)) from error


def strict(document: Document) -> Document:
    """``document`` through the client's models. Raises FHIRValidationError."""
    return _json(_model(document))


def _model(document: Document) -> Any:
    kind = document["resourceType"]
    return FHIRElementFactory.instantiate(kind, document if len(document) > 1 else None)


def _json(model: Any) -> Document:
    document: Document = model.as_json()
    return document


def _refused(response: requests.Response) -> Refused:
    return Refused(response.status_code, json.loads(response.text))
