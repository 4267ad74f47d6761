"""In which coding does an answer leave: br, gzip or as it is?

The client names what it reads in Accept-Encoding; the greatest q wins, br before gzip before
nothing at equal q. Small answers leave as they are. Nothing here mixes a secret with what a
stranger chose: there are no cookies, credentials are never part of an answer, and problems,
which may follow on what was sent, are not compressed.
"""

import gzip
from enum import StrEnum

import brotli

WORTH = 1400
"""Bytes; below this an answer fits into one packet either way."""

_GZIP_LEVEL = 4
_BR_QUALITY = 3


class Coding(StrEnum):
    BR = "br"
    GZIP = "gzip"


def coding_of(accept_encoding: str) -> Coding | None:
    """The best coding that the client reads; None where it wants the answer as it is."""
    if not accept_encoding:
        return None
    said = dict(filter(None, map(_range, accept_encoding.lower().split(","))))
    rest = said.get("*", 0.0)
    plain = said.get("identity", min(rest, 0.001) if "*" in said else 0.001)
    ranked = [(said.get(coding, rest), coding) for coding in Coding]
    quality, best = max(ranked, key=lambda pair: pair[0])
    return best if quality > 0 and quality >= plain else None


def _range(part: str) -> tuple[str, float] | None:
    name, _, parameters = part.strip().partition(";")
    key, _, value = parameters.strip().partition("=")
    if key.strip() != "q":
        return name.strip(), 1.0
    try:
        return name.strip(), float(value)
    except ValueError:
        return None


def compressed(body: bytes, coding: Coding) -> bytes:
    if coding == Coding.BR:
        return bytes(brotli.compress(body, quality=_BR_QUALITY))
    return gzip.compress(body, compresslevel=_GZIP_LEVEL, mtime=0)
