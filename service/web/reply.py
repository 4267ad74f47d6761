"""How is a value sent back, in the form that was asked for?"""

import gzip
from collections.abc import Mapping
from typing import Any

import msgspec
from litestar.response import Response

from service.fhir.encode import FHIR_JSON, bytes_of
from service.web import etag
from service.web.house import Ask
from service.web.negotiate import Form

WORTH_GZIP = 1400
NATIVE = msgspec.json.Encoder(decimal_format="number")
PRIVATE = "private, no-cache"
VARY = "Accept, Accept-Encoding"


def native(
    request: Ask, value: Any, status: int = 200, headers: Mapping[str, str] | None = None
) -> Response[bytes]:
    """``value`` as native JSON; Decimals are numbers, digit for digit."""
    return sent(request, NATIVE.encode(value), Form.NATIVE, status, headers)


def fhir(
    request: Ask, resource: Any, status: int = 200, headers: Mapping[str, str] | None = None
) -> Response[bytes]:
    """A resource as FHIR JSON."""
    return sent(request, bytes_of(resource), FHIR_JSON, status, headers)


def sent(
    request: Ask,
    body: bytes,
    media_type: str,
    status: int = 200,
    headers: Mapping[str, str] | None = None,
) -> Response[bytes]:
    """``body``, compressed where the client can read that and it is worth it."""
    extra = {"Vary": VARY, "Cache-Control": "no-store", **(headers or {})}
    if len(body) >= WORTH_GZIP and _takes_gzip(request.headers.get("accept-encoding", "")):
        body = gzip.compress(body, compresslevel=4, mtime=0)
        extra["Content-Encoding"] = "gzip"
        if extra.get("ETag", "").startswith('"'):
            extra["ETag"] = _gzipped(extra["ETag"])
    return Response(body, status_code=status, media_type=media_type, headers=extra)


def not_modified(request: Ask, tag: str) -> Response[bytes]:
    """304 with the tag that the whole answer would have; screens and plans are worth gzip."""
    if _takes_gzip(request.headers.get("accept-encoding", "")):
        tag = _gzipped(tag)
    headers = {"ETag": tag, "Cache-Control": PRIVATE, "Vary": VARY}
    return Response(b"", status_code=304, headers=headers)


def _gzipped(tag: str) -> str:
    return f'{tag[:-1]}{etag.GZIP_MARK}"'


def _takes_gzip(accept_encoding: str) -> bool:
    for part in accept_encoding.lower().split(","):
        coding, _, parameters = part.strip().partition(";")
        if coding.strip() in ("gzip", "*"):
            return parameters.replace(" ", "") not in ("q=0", "q=0.0", "q=0.00", "q=0.000")
    return False
