"""Whose pages may call the service from a browser? Nobody's, unless the operator named them."""

from litestar.config.cors import CORSConfig

_METHODS = ["GET", "HEAD", "POST", "PUT"]
_ASKED = [
    "Accept",
    "Authorization",
    "Content-Type",
    "Idempotency-Key",
    "If-Match",
    "If-Modified-Since",
    "If-None-Exist",
    "If-None-Match",
    "Prefer",
    "X-API-Key",
    "X-Request-Id",
]
_SHOWN = [
    "Content-Location",
    "ETag",
    "Idempotency-Replayed",
    "Last-Modified",
    "Location",
    "Retry-After",
    "WWW-Authenticate",
    "X-Request-Id",
]
_REMEMBERED_SECONDS = 600


def cors_of(origins: tuple[str, ...]) -> CORSConfig | None:
    """No cookies are used, so no credentials of the browser are ever let in."""
    if not origins:
        return None
    return CORSConfig(
        allow_origins=list(origins),
        allow_methods=_METHODS,  # type: ignore[arg-type]
        allow_headers=_ASKED,
        allow_credentials=False,
        expose_headers=_SHOWN,
        max_age=_REMEMBERED_SECONDS,
    )
