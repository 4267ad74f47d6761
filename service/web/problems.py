"""Which HTTP status does a problem get, and how is it told?"""

import logging
import traceback
from collections.abc import Mapping

import msgspec
from litestar.exceptions import HTTPException
from litestar.response import Response
from msgspec import Struct

from service.domain.problem import (
    Conflict,
    Fault,
    KeyReused,
    NotAllowed,
    NotFound,
    Problem,
    Refused,
    StaleVersion,
    Unavailable,
    Unreadable,
    VersionMissing,
)
from service.fhir.encode import FHIR_JSON, bytes_of
from service.fhir.outcome import outcome_for_status
from service.web import negotiate
from service.web.house import Ask
from service.web.refusals import BadRequest, NotAcceptable, TooSlow, Unsupported

PROBLEM_JSON = "application/problem+json"

_log = logging.getLogger("stanchion.web")


STATUS: dict[type[Problem], int] = {
    Unreadable: 400,
    BadRequest: 400,
    NotFound: 404,
    NotAcceptable: 406,
    TooSlow: 408,
    Conflict: 409,
    StaleVersion: 412,
    Unsupported: 415,
    Refused: 422,
    KeyReused: 422,
    VersionMissing: 428,
    Unavailable: 503,
}

TITLES = {
    400: "The request cannot be read.",
    401: "A credential is needed.",
    403: "This credential may not do that.",
    404: "There is no such thing.",
    405: "This address does not take that method.",
    406: "That form cannot be given.",
    408: "The body came too slowly.",
    409: "Another request got there first.",
    412: "It has changed since you read it.",
    413: "The body is too large.",
    415: "That form of body is not read here.",
    422: "The body has faults.",
    428: "If-Match is needed.",
    429: "Too many requests.",
    500: "The service failed.",
    503: "Not now: nothing was kept.",
}


class Told(Struct, frozen=True, omit_defaults=True):
    """A problem as RFC 9457 has it. ``faults`` lists each fault of the body: JSON Pointer,
    a stable rule word, and what is asked for."""

    title: str
    status: int
    detail: str = ""
    type: str = "about:blank"
    faults: tuple[Fault, ...] = ()


def on_problem(request: Ask, problem: Problem) -> Response[bytes]:
    """A problem of the domain or of the request."""
    if isinstance(problem, NotAllowed):
        return _not_allowed(request, problem)
    headers = {}
    if isinstance(problem, Unavailable):
        headers["Retry-After"] = str(problem.retry_after_s)
    return _answer(request, STATUS[type(problem)], problem.detail, problem.faults, headers)


def on_http_exception(request: Ask, error: HTTPException) -> Response[bytes]:
    """What the router refuses, with the headers that belong to it."""
    headers = {name.title(): value for name, value in (error.headers or {}).items()}
    status = error.status_code if error.status_code in TITLES else 400
    return _answer(request, status, _ROUTER_SAYS.get(status, TITLES[status]), (), headers)


def on_failure(request: Ask, error: Exception) -> Response[bytes]:
    """Anything else is our own failure. The log gets where it happened, not what was sent."""
    frames = traceback.extract_tb(error.__traceback__)[-6:]
    places = " > ".join(f"{frame.name}:{frame.lineno}" for frame in frames)
    _log.error("%s at %s", type(error).__name__, places)
    return _answer(request, 500, "The failure is in the log under this request's id.", (), {})


_ROUTER_SAYS = {
    404: "No such address. The document at /openapi.json lists all.",
    405: "The header Allow lists the methods this address takes.",
    413: "A body may have 1 MiB at most.",
}


def _not_allowed(request: Ask, problem: NotAllowed) -> Response[bytes]:
    if problem.known:
        return _answer(request, 403, problem.detail, problem.faults, {})
    headers = {"WWW-Authenticate": 'Bearer realm="stanchion"'}
    return _answer(request, 401, problem.detail, problem.faults, headers)


def _answer(
    request: Ask, status: int, detail: str, faults: tuple[Fault, ...], headers: Mapping[str, str]
) -> Response[bytes]:
    if negotiate.error_form(request.headers.get("accept")) == negotiate.Form.FHIR:
        body, media_type = bytes_of(outcome_for_status(status, detail, faults)), FHIR_JSON
    else:
        told = Told(TITLES[status], status, detail, faults=faults)
        body, media_type = msgspec.json.encode(told), PROBLEM_JSON
    return Response(
        body,
        status_code=status,
        media_type=media_type,
        headers={"Vary": "Accept", "Cache-Control": "no-store", **headers},
    )
