"""Which parameters do several addresses share?"""

from datetime import datetime
from typing import Annotated

from msgspec import Meta

from service.web.etag import ANY_TAG
from service.web.operation import Parameter
from service.web.paging import DEFAULT_LIMIT, LONGEST_CURSOR, MOST

Id = Annotated[str, Meta(min_length=1, max_length=80, pattern=r"^[A-Za-z0-9_-]+$")]
Tag = Annotated[str, Meta(pattern=ANY_TAG, examples=['"1"'])]


def id_of(name: str, what: str) -> Parameter:
    return Parameter(name, "path", Id, f"The service's own opaque id of the {what}.", required=True)


LIMIT = Parameter(
    "limit",
    "query",
    Annotated[int, Meta(ge=1, le=MOST)],
    f"Entries on a page; {DEFAULT_LIMIT} where not given.",
)
CURSOR = Parameter(
    "cursor",
    "query",
    Annotated[str, Meta(min_length=1, max_length=LONGEST_CURSOR)],
    "Where the page begins: taken from the link next of the page before.",
)
SINCE = Parameter(
    "since",
    "query",
    Annotated[datetime, Meta(tz=True)],
    "Screens recorded at or after this time.",
    required=True,
)
VERSION = Parameter(
    "version",
    "query",
    Annotated[int, Meta(ge=1, le=999_999_999)],
    "Which version of the screen; the newest where not given.",
)
IF_NONE_MATCH = Parameter("If-None-Match", "header", str, "ETags held: 304 where one still holds.")
IF_MATCH = Parameter(
    "If-Match",
    "header",
    Tag,
    "The ETag as you read it, or the version in quotes.",
)
IF_MATCH_NEEDED = Parameter("If-Match", "header", Tag, f"{IF_MATCH.text} Needed.", required=True)
IDEMPOTENCY_KEY = Parameter(
    "Idempotency-Key",
    "header",
    Annotated[str, Meta(min_length=1, max_length=255, pattern=r"^[\x21-\x7e]+$")],
    "A new random word for each new screen. The same key with the same body gives the same"
    " answer again, for 7 days; with another body it is refused.",
)
