"""On which conditions is something written, and what is sent back of it?"""

import re
from collections.abc import Iterator
from enum import StrEnum

from service.domain.problem import StaleVersion, VersionMissing
from service.domain.value import Identifier
from service.fhir.read_people import identifier_asked
from service.web.etag import ANY_TAG
from service.web.house import Ask
from service.web.refusals import BadRequest

_VERSION = re.compile(r'(?:W/)?"(\d{1,9})"')


class Returned(StrEnum):
    """What Prefer asks to be sent back."""

    MINIMAL = "minimal"
    REPRESENTATION = "representation"
    OUTCOME = "OperationOutcome"


def prefer_of(request: Ask) -> str:
    """What Prefer says, in one header or several."""
    return ",".join(request.headers.getall("prefer", []))


def returned(prefer: str, otherwise: Returned) -> Returned:
    """The first ``return=`` that is understood; other preferences are left alone."""
    known = {one.value.lower(): one for one in Returned}
    asked = (known.get(value) for name, value in _preferences(prefer) if name == "return")
    return next((one for one in asked if one is not None), otherwise)


def is_strict(prefer: str) -> bool:
    """Whether what is not known is to be refused: the first ``handling=`` says so."""
    asked = (value for name, value in _preferences(prefer) if name == "handling")
    return next(asked, "") == "strict"


def _preferences(prefer: str) -> Iterator[tuple[str, str]]:
    for part in re.split(r"[,;]", prefer.lower()):
        name, _, value = part.partition("=")
        yield name.strip(), value.strip().strip('"')


def version_named(if_match: str | None) -> int:
    """The version in If-Match. Raises VersionMissing, BadRequest, StaleVersion."""
    if if_match is None:
        raise VersionMissing('Read the resource and send its ETag as If-Match, such as W/"1".')
    found = _VERSION.fullmatch(if_match.strip())
    if found is not None:
        return int(found[1])
    if not re.fullmatch(ANY_TAG, if_match.strip()):
        raise BadRequest('If-Match must be one ETag, such as W/"1".')
    raise StaleVersion('If-Match must be the ETag of this resource, such as W/"1".')


def source_named(query: str) -> Identifier:
    """The sender's identifier in a condition. Raises BadRequest."""
    found = identifier_asked(query)
    if found is None:
        text = "A response is looked for by identifier=system|value alone, percent-encoded."
        raise BadRequest(text)
    return found
