"""How does the document tell each answer, good or not, and its headers?"""

from collections.abc import Callable
from typing import Any

from service.web.negotiate import Form
from service.web.operation import Given, Operation
from service.web.problems import PROBLEM_JSON, TITLES

_FHIR_RESOURCE: dict[str, Any] = {
    "type": "object",
    "description": "A FHIR R4 resource, as hl7.org/fhir/R4 defines it.",
    "properties": {"resourceType": {"type": "string"}},
    "required": ["resourceType"],
}
_OUTCOME: dict[str, Any] = {
    "type": "object",
    "description": "A FHIR R4 OperationOutcome.",
    "properties": {"resourceType": {"const": "OperationOutcome"}, "issue": {"type": "array"}},
    "required": ["resourceType", "issue"],
}
_TEXT: dict[str, Any] = {"type": "string"}

HEADERS: dict[str, tuple[str, dict[str, Any]]] = {
    "Location": ("The address of what was made or moved.", _TEXT),
    "ETag": ("Strong; changes whenever anything that shows does.", _TEXT),
    "Cache-Control": ("private, no-cache", _TEXT),
    "Idempotency-Replayed": ("Sent when the key had been answered before.", {"const": "true"}),
    "Retry-After": ("Seconds to wait.", {"type": "string", "pattern": "^[0-9]+$"}),
    "WWW-Authenticate": ("How to send a key.", _TEXT),
}
_PROBLEM_HEADERS = {
    401: ("WWW-Authenticate",),
    403: ("WWW-Authenticate",),
    503: ("Retry-After",),
    429: ("Retry-After",),
}
_ALWAYS = (400, 406, 414, 431, 500, 504)
_WITH_KEY = (401, 403, 429, 503)

RESPONSES: dict[str, Any] = {}


def responses_of(one: Operation, schema_of: Callable[[Any], dict[str, Any]]) -> dict[str, Any]:
    """Every status that the operation may answer with."""
    said = {str(status): _good(given, schema_of) for status, given in one.answers.items()}
    problems = {*_ALWAYS, *one.problems, *(() if one.open else _WITH_KEY)}
    for status in sorted(problems):
        said[str(status)] = {"$ref": f"#/components/responses/{status}"}
    return said


def _good(given: Given, schema_of: Callable[[Any], dict[str, Any]]) -> dict[str, Any]:
    said: dict[str, Any] = {"description": given.text}
    if given.headers:
        said["headers"] = _headers(given.headers)
    if given.kind is not None:
        said["content"] = {
            form.value: {"schema": schema_of(given.kind) if form == Form.NATIVE else _FHIR_RESOURCE}
            for form in given.forms
        }
    elif given.media:
        said["content"] = {media: {} for media in given.media}
    return said


def _headers(names: tuple[str, ...]) -> dict[str, Any]:
    return {name: {"description": HEADERS[name][0], "schema": HEADERS[name][1]} for name in names}


def _problem(status: int) -> dict[str, Any]:
    told = {"$ref": "#/components/schemas/Told"}
    said: dict[str, Any] = {
        "description": TITLES[status],
        "content": {PROBLEM_JSON: {"schema": told}, Form.FHIR.value: {"schema": _OUTCOME}},
    }
    if status in _PROBLEM_HEADERS:
        said["headers"] = _headers(_PROBLEM_HEADERS[status])
    return said


RESPONSES.update({str(status): _problem(status) for status in TITLES})
