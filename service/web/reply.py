"""How is a value sent back, in the form that was asked for?"""

from collections.abc import Mapping
from typing import Any

import msgspec
from litestar.response import Response

from service.fhir.encode import FHIR_JSON, bytes_of
from service.web import etag
from service.web.compression import WORTH, coding_of, compressed
from service.web.house import Ask
from service.web.negotiate import Form

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
    coding = coding_of(request.headers.get("accept-encoding", "")) if len(body) >= WORTH else None
    if coding is not None:
        body = compressed(body, coding)
        extra["Content-Encoding"] = coding.value
        if extra.get("ETag", "").startswith('"'):
            extra["ETag"] = etag.coded(extra["ETag"], coding)
    return Response(body, status_code=status, media_type=media_type, headers=extra)


def not_modified(request: Ask, tag: str) -> Response[bytes]:
    """304 with the tag that the whole answer would have; screens and plans are worth coding."""
    coding = coding_of(request.headers.get("accept-encoding", ""))
    if coding is not None:
        tag = etag.coded(tag, coding)
    headers = {"ETag": tag, "Cache-Control": PRIVATE, "Vary": VARY}
    return Response(b"", status_code=304, headers=headers)
