"""On which conditions is something written, and what is sent back of it?"""

import re
from enum import StrEnum

from service.domain.problem import StaleVersion, VersionMissing
from service.domain.value import Identifier
from service.fhir.read_people import identifier_asked
from service.web.etag import ANY_TAG
from service.web.refusals import BadRequest

_VERSION = re.compile(r'(?:W/)?"(\d{1,9})"')


class Returned(StrEnum):
    """What Prefer asks to be sent back."""

    MINIMAL = "minimal"
    REPRESENTATION = "representation"
    OUTCOME = "OperationOutcome"


def returned(prefer: str | None, otherwise: Returned) -> Returned:
    """The first ``return=`` that is understood; other preferences are left alone."""
    for part in re.split(r"[,;]", prefer or ""):
        name, _, value = part.strip().partition("=")
        if name.strip().lower() == "return":
            for one in Returned:
                if value.strip().strip('"').lower() == one.value.lower():
                    return one
    return otherwise


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
