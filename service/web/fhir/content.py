"""In which form do FHIR bodies come in and go out, and which version of a resource is sent?

``_format`` outranks Accept. JSON alone is spoken, so whatever names XML or Turtle only is
406, and a body in any other form 415.
"""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from email.utils import format_datetime, parsedate_to_datetime
from typing import Any
from urllib.parse import parse_qsl

import msgspec
from litestar.response import Response

from service.domain.problem import Fault
from service.fhir.encode import FHIR_JSON, bytes_of
from service.fhir.search_control import Control
from service.fhir.search_part import part_of, part_wanted
from service.web import etag, reply
from service.web.bodies import bytes_of_body
from service.web.house import Ask
from service.web.negotiate import BOTH, form_of
from service.web.refusals import BadRequest, NotAcceptable, Unsupported

PREFIX = "/fhir/R4"
JSON_FORMATS = ("json", "application/json", "application/fhir+json", "text/json")
_VERSIONS = ("4.0", "4.0.1")
_MOST_PARAMETERS = 100


def accepted(request: Ask) -> None:
    """Raises NotAcceptable where JSON is not wanted, before anything is done."""
    said = parameters_of(request)
    if all(name != "_format" for name, _ in said):
        form_of(request.headers.get("accept"), BOTH)
    json_wanted(said)


def json_wanted(said: Iterable[tuple[str, str]]) -> None:
    """Raises NotAcceptable where ``_format`` names another form."""
    for value in (value for name, value in said if name == "_format"):
        media, *rest = (part.strip().lower() for part in value.replace(" ", "+", 1).split(";"))
        if media not in JSON_FORMATS or not _spoken(rest):
            text = "FHIR is given as JSON only: _format=json."
            raise NotAcceptable(text, (Fault("/http/_format", "search.unknown", text),))


def parameters_of(request: Ask) -> list[tuple[str, str]]:
    """The parameters of the address in their order. Raises BadRequest."""
    return read_parameters(request.scope["query_string"])


def read_parameters(raw: bytes) -> list[tuple[str, str]]:
    """Parameters as an address or a form holds them. Raises BadRequest."""
    try:
        return parse_qsl(
            raw.decode("ascii"),
            keep_blank_values=True,
            errors="strict",
            max_num_fields=_MOST_PARAMETERS,
        )
    except ValueError:
        text = f"Parameters are percent-encoded UTF-8, at most {_MOST_PARAMETERS} of them."
        raise BadRequest(text) from None


async def body_of(request: Ask) -> bytes:
    """The body, said to be FHIR JSON. Raises Unsupported, NotAcceptable, TooSlow."""
    accepted(request)
    media, *rest = _media_type(request)
    if media not in ("application/fhir+json", "application/json"):
        raise Unsupported("Send Content-Type: application/fhir+json.")
    if not _spoken(rest):
        raise Unsupported("FHIR R4 in UTF-8 is read here: fhirVersion=4.0, charset=utf-8.")
    return await bytes_of_body(request)


async def form_body_of(request: Ask) -> bytes:
    """The body of a search by POST; empty is allowed. Raises Unsupported, TooSlow."""
    media, *rest = _media_type(request)
    body = await bytes_of_body(request)
    if media == "" and not body:
        return body
    if media != "application/x-www-form-urlencoded" or not _spoken(rest):
        raise Unsupported("Send Content-Type: application/x-www-form-urlencoded.")
    return body


async def searched(request: Ask) -> list[tuple[str, str]]:
    """The parameters of a search, in the address and in the body of one by POST. Raises
    BadRequest, NotAcceptable, Unsupported, TooSlow."""
    said = parameters_of(request)
    if request.method == "POST":
        said += read_parameters(await form_body_of(request))
        json_wanted(said)
    return said


def answer(
    request: Ask,
    resource: Any,
    status: int = 200,
    headers: Mapping[str, str] | None = None,
    said: Iterable[tuple[str, str]] = (),
) -> Response[bytes]:
    """``resource`` as FHIR JSON, laid out for reading where ``_pretty=true`` asks for it, in the
    address or in what was ``said`` besides."""
    accepted(request)
    body = bytes_of(resource)
    if ("_pretty", "true") in (*parameters_of(request), *said):
        body = msgspec.json.format(body, indent=2)
    return reply.sent(request, body, FHIR_JSON, status, headers)


def version_headers(version: str, changed: datetime | None) -> dict[str, str]:
    """ETag and Last-Modified of one version of a resource."""
    told = {"ETag": f'W/"{version}"', "Cache-Control": reply.PRIVATE}
    if changed is not None:
        told["Last-Modified"] = format_datetime(changed.astimezone(UTC), usegmt=True)
    return told


def part_asked(request: Ask, kind: str) -> Control:
    """Which part of a resource of that ``kind`` is wanted. Raises Unreadable, BadRequest,
    NotAcceptable."""
    accepted(request)
    return part_wanted(kind, parameters_of(request))


def versioned(request: Ask, resource: Any, status: int = 200) -> Response[bytes]:
    """``resource``, or the part of it that is wanted, with its version; 304 where the client
    holds that already."""
    part = part_asked(request, type(resource).__name__)
    meta = resource.meta
    headers = version_headers(meta.version_id, meta.last_updated)
    if _held(request, meta.version_id, meta.last_updated):
        return Response(b"", status_code=304, headers={**headers, "Vary": reply.VARY})
    return answer(request, part_of(resource, part), status, headers)


def _held(request: Ask, version: str, changed: datetime | None) -> bool:
    """If-None-Match decides; only without it does If-Modified-Since."""
    tags = request.headers.get("if-none-match")
    if tags is not None:
        return etag.unchanged(tags, f'"{version}"')
    since = request.headers.get("if-modified-since")
    if since is None or changed is None:
        return False
    try:
        return changed.replace(microsecond=0) <= parsedate_to_datetime(since)
    except (ValueError, TypeError):
        return False


def _media_type(request: Ask) -> list[str]:
    said = request.headers.get("content-type", "")
    return [part.strip().lower() for part in said.split(";")]


def _spoken(parameters: list[str]) -> bool:
    for parameter in parameters:
        name, _, value = parameter.partition("=")
        value = value.strip().strip('"')
        if name.strip() == "charset" and value not in ("utf-8", "utf8"):
            return False
        if name.strip() == "fhirversion" and value not in _VERSIONS:
            return False
    return True
