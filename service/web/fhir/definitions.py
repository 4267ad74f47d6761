"""How is what Stanchion publishes about itself read and found over HTTP?

Definitions are the same for everybody and name no patient. They change with the rule book only.
"""

import hashlib
from urllib.parse import urlencode

from litestar.response import Response

from service import __version__
from service.domain.problem import NotFound
from service.fhir.definitions.find import (
    PARAMETERS,
    FoundDefinitions,
    Wanted,
    definition,
    entry_of,
    matching,
)
from service.fhir.resources import Link
from service.web import etag, reply
from service.web.fhir.content import PREFIX, accepted, answer, parameters_of
from service.web.house import Ask, house_of
from service.web.refusals import BadRequest

MOST = 100
_USUAL = 20
_COUNT, _FROM = "_count", "_from"
_OUTPUT = ("_format", "_pretty")


async def read_definition(request: Ask) -> Response[bytes]:
    """GET [type]/[id], with a tag that changes only with the rule book."""
    accepted(request)
    site = house_of(request).site
    kind = _path(request)[0]
    found = definition(site, kind, request.path_params["id"])
    if found is None:
        raise NotFound(f"No such {kind}.")
    headers = {"ETag": _tag(site.book.ref.digest, site.base), "Cache-Control": reply.PRIVATE}
    if etag.unchanged(request.headers.get("if-none-match"), headers["ETag"].removeprefix("W/")):
        return Response(b"", status_code=304, headers={**headers, "Vary": reply.VARY})
    return answer(request, found, headers=headers)


async def search_definitions(request: Ask) -> Response[bytes]:
    """GET [type]?url=&version=&name=&title=&status=&_id=, by pages."""
    accepted(request)
    site, kind = house_of(request).site, _path(request)[0]
    said = parameters_of(request)
    used = [(name, value) for name, value in said if name in PARAMETERS]
    _refuse_unknown(request, said)
    count, start = _number(said, _COUNT, _USUAL), _number(said, _FROM, 0)
    count = min(count, MOST)
    wanted = [Wanted(name, tuple(value.split(","))) for name, value in used]
    found = matching(site, kind, wanted)
    page = found[start : start + count]
    base = f"{site.base}/{kind}"
    links = [Link("self", _address(base, [*used, (_COUNT, str(count)), (_FROM, str(start))]))]
    if count and start + count < len(found):
        following = [*used, (_COUNT, str(count)), (_FROM, str(start + count))]
        links.append(Link("next", _address(base, following)))
    bundle = FoundDefinitions(
        type="searchset",
        total=len(found),
        link=tuple(links),
        entry=tuple([entry_of(site, one) for one in page]),
    )
    return answer(request, bundle)


def _path(request: Ask) -> list[str]:
    """The parts of the address below the FHIR base, the type first."""
    return str(request.scope["path"]).removeprefix(PREFIX).strip("/").split("/")


def _tag(digest: str, base: str) -> str:
    return f'W/"{hashlib.sha256(f"{__version__} {digest} {base}".encode()).hexdigest()[:32]}"'


def _refuse_unknown(request: Ask, said: list[tuple[str, str]]) -> None:
    """Only where the client asks for that; else what is not known is left out of ``self``."""
    if "handling=strict" not in request.headers.get("prefer", "").replace(" ", ""):
        return
    known = (*PARAMETERS, *_OUTPUT, _COUNT, _FROM)
    unknown = sorted({name for name, _ in said if name not in known})
    if unknown:
        raise BadRequest(f"Definitions are not searched by {', '.join(unknown)}.")


def _number(said: list[tuple[str, str]], name: str, usual: int) -> int:
    """Raises BadRequest."""
    given = [value for each, value in said if each == name]
    if not given:
        return usual
    if len(given) > 1 or not given[0].isascii() or not given[0].isdecimal() or len(given[0]) > 6:
        raise BadRequest(f"{name} must be one whole number.")
    return int(given[0])


def _address(base: str, parameters: list[tuple[str, str]]) -> str:
    return f"{base}?{urlencode(parameters)}"
