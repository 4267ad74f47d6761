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
from service.web.refusals import (
    BadRequest,
    HeadTooLong,
    IdsGivenHere,
    NotAcceptable,
    TookTooLong,
    TooLarge,
    TooMany,
    TooSlow,
    Unsupported,
    UrlTooLong,
)

PROBLEM_JSON = "application/problem+json"
FHIR_PATH = "/fhir/R4"

_log = logging.getLogger("stanchion.web")


STATUS: dict[type[Problem], int] = {
    Unreadable: 400,
    BadRequest: 400,
    NotFound: 404,
    IdsGivenHere: 405,
    NotAcceptable: 406,
    TooSlow: 408,
    Conflict: 409,
    StaleVersion: 412,
    TooLarge: 413,
    UrlTooLong: 414,
    Unsupported: 415,
    Refused: 422,
    KeyReused: 422,
    VersionMissing: 428,
    TooMany: 429,
    HeadTooLong: 431,
    Unavailable: 503,
    TookTooLong: 504,
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
    414: "The address is too long.",
    415: "That form of body is not read here.",
    422: "The body has faults.",
    428: "If-Match is needed.",
    429: "Too many requests.",
    431: "The headers are too long.",
    500: "The service failed.",
    503: "Not now: nothing was kept.",
    504: "It took too long.",
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
    if isinstance(problem, (Unavailable, TooMany)):
        headers["Retry-After"] = str(problem.retry_after_s)
    if isinstance(problem, IdsGivenHere):
        headers["Allow"] = ""
    return _answer(request, STATUS[type(problem)], problem.detail, problem.faults, headers)


def on_http_exception(request: Ask, error: HTTPException) -> Response[bytes]:
    """What the router refuses, with the headers that belong to it."""
    headers = {name.title(): value for name, value in (error.headers or {}).items()}
    status = error.status_code if error.status_code in TITLES else 400
    says = _FHIR_ROUTER_SAYS if _is_fhir(request) else _ROUTER_SAYS
    return _answer(request, status, says.get(status, TITLES[status]), (), headers)


def on_failure(request: Ask, error: Exception) -> Response[bytes]:
    """Anything else is our own failure. The log gets where it happened, not what was sent."""
    frames = traceback.extract_tb(error.__traceback__)[-6:]
    places = " > ".join(f"{frame.name}:{frame.lineno}" for frame in frames)
    _log.error("%s at %s", type(error).__name__, places)
    return _answer(request, 500, "The failure is in the log under this request's id.", (), {})


_ROUTER_SAYS = {
    404: "No such address. The document at /openapi.json lists all.",
    405: "The header Allow lists the methods this address takes.",
}


_FHIR_ROUTER_SAYS = _ROUTER_SAYS | {
    404: (
        "No such resource type, operation or address here."
        " GET /fhir/R4/metadata lists what is served."
    ),
}


def speaks_fhir(request: Ask) -> bool:
    """Whether an error is told as an OperationOutcome: below /fhir always, else by Accept."""
    asked = negotiate.error_form(request.headers.get("accept"))
    return _is_fhir(request) or asked == negotiate.Form.FHIR


def _is_fhir(request: Ask) -> bool:
    path: str = request.scope["path"]
    return path == FHIR_PATH or path.startswith(f"{FHIR_PATH}/")


def _not_allowed(request: Ask, problem: NotAllowed) -> Response[bytes]:
    """As RFC 6750 tells it: a credential that was not sent, is not good, or may not do this."""
    challenge = 'Bearer realm="stanchion"'
    if problem.known:
        if problem.scope:
            challenge += f', error="insufficient_scope", scope="{problem.scope}"'
    elif problem.shown:
        challenge += ', error="invalid_token"'
    headers = {"WWW-Authenticate": challenge}
    status = 403 if problem.known else 401
    return _answer(request, status, problem.detail, problem.faults, headers)


def _answer(
    request: Ask, status: int, detail: str, faults: tuple[Fault, ...], headers: Mapping[str, str]
) -> Response[bytes]:
    if speaks_fhir(request):
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
