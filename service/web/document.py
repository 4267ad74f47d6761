"""What does the service promise? The OpenAPI 3.1 document, built from the table of operations."""

import re
from functools import cache
from importlib.resources import files
from typing import Any

import msgspec

from service import __version__
from service.domain.scope import told
from service.web.answers import RESPONSES, responses_of
from service.web.operation import Operation, Parameter
from service.web.problems import Told
from service.web.routes import OPERATIONS

_REF = "#/components/schemas/{name}"
_TAGS = {
    "screens": "The main job: a bedside mobility screen in, a plan for every move out.",
    "patients": "Patients under the service's own opaque ids.",
    "plans": "What to do, move by move, and why.",
    "audit": "Who did what to whose data.",
    "rules": "The rule book as data, with the source of every rule.",
    "health": "For those who run the service.",
    "document": "This document and the page to try it.",
}
_ABOUT = (
    "Native JSON or, by `Accept: application/fhir+json`, FHIR R4 at the same addresses. SI units,"
    " the unit in each name; times with their offset. An object that comes back may gain fields:"
    " ignore what you do not know. Problems are RFC 9457 `application/problem+json`, or an"
    " `OperationOutcome` by Accept. A body may have 1 MiB, nested 32 deep, where the"
    " operator set nothing else; a credential has a rate, and 429 says when to come back."
    " `X-Request-Id` is"
    " taken where it is 1 to 64 letters, digits, dots, dashes or underscores, and always sent"
    " back. HEAD works wherever GET does. The computed plan supports a licensed judgement and"
    " does not replace it."
)


@cache
def document() -> dict[str, Any]:
    """The whole document, ready to be written as JSON."""
    schemas = _schemas()
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Stanchion",
            "version": __version__,
            "description": _ABOUT,
            "license": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
        },
        "servers": [{"url": "/"}],
        "tags": [{"name": name, "description": text} for name, text in _TAGS.items()],
        "security": [{"bearer": []}, {"key": []}],
        "paths": _paths(schemas),
        "components": {
            "schemas": schemas.components,
            "responses": RESPONSES,
            "securitySchemes": {
                "bearer": {
                    "type": "http",
                    "scheme": "bearer",
                    "description": "An access token of a trusted issuer, or an API key.",
                },
                "key": {
                    "type": "apiKey",
                    "in": "header",
                    "name": "X-API-Key",
                    "description": "An API key.",
                },
            },
        },
    }


class Schemas:
    """The schema of each type the operations name, and what these are made of."""

    def __init__(self, kinds: list[Any]) -> None:
        found, components = msgspec.json.schema_components(kinds, ref_template=_REF)
        self._found = dict(zip(map(repr, kinds), map(_exact, found), strict=True))
        self.components: dict[str, Any] = {
            name: _exact(schema) for name, schema in sorted(components.items())
        }

    def of(self, kind: Any) -> dict[str, Any]:
        schema: dict[str, Any] = self._found[repr(kind)]
        return schema


def _schemas() -> Schemas:
    kinds: dict[str, Any] = {repr(Told): Told}
    for one in OPERATIONS:
        for kind in (
            one.body,
            *(given.kind for given in one.answers.values()),
            *(parameter.kind for parameter in one.parameters),
        ):
            if kind is not None:
                kinds[repr(kind)] = kind
    return Schemas(list(kinds.values()))


def _exact(schema: Any) -> Any:
    """A Decimal is a number on the wire; texts lose the line breaks of their source."""
    if isinstance(schema, list):
        return [_exact(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    exact = {name: _exact(part) for name, part in schema.items()}
    if exact.get("format") == "decimal":
        del exact["format"]
        exact["type"] = "number"
        if "minimum" in exact:
            exact["description"] = f"{exact.get('description', 'A number')}; at most 6 decimals"
    if isinstance(exact.get("description"), str):
        exact["description"] = re.sub(r"\s*\n\s*", " ", exact["description"]).replace("``", "`")
    return exact


def _paths(schemas: Schemas) -> dict[str, Any]:
    paths: dict[str, Any] = {}
    for one in OPERATIONS:
        paths.setdefault(one.path, {})[one.method.lower()] = _operation(one, schemas)
    return paths


def _operation(one: Operation, schemas: Schemas) -> dict[str, Any]:
    said: dict[str, Any] = {"operationId": one.id, "tags": [one.tag], "summary": one.summary}
    scopes = [told(need) for need in one.needs]
    texts = [one.text, f"Needs {_listed(scopes)}." if scopes else ""]
    if any(texts):
        said["description"] = "\n\n".join(filter(None, texts))
    if one.parameters:
        said["parameters"] = [_parameter(each, schemas) for each in one.parameters]
    if one.body is not None:
        content = {"schema": schemas.of(one.body), "examples": _examples()[one.examples or ""]}
        said["requestBody"] = {"required": True, "content": {"application/json": content}}
    said["responses"] = responses_of(one, schemas.of)
    if one.open:
        said["security"] = []
    elif scopes:
        said["security"] = [{"bearer": scopes}, {"key": scopes}]
    return said


def _listed(scopes: list[str]) -> str:
    named = [f"`{scope}`" for scope in scopes]
    return f"the scope {named[0]}" if len(named) == 1 else f"the scopes {' and '.join(named)}"


def _parameter(one: Parameter, schemas: Schemas) -> dict[str, Any]:
    return {
        "name": one.name,
        "in": one.place,
        "required": one.required,
        "description": one.text,
        "schema": schemas.of(one.kind),
    }


@cache
def _examples() -> dict[str, Any]:
    found: dict[str, Any] = msgspec.json.decode(
        (files("service.web") / "examples.json").read_bytes()
    )
    return found
