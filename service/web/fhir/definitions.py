"""How is what Stanchion publishes about itself read and found over HTTP?

Definitions are the same for everybody and name no patient. They change with the rule book only.
"""

import hashlib
from urllib.parse import urlencode

from litestar.response import Response
from msgspec import Struct

from service import __version__
from service.domain.problem import Fault, NotFound, Unreadable
from service.fhir.definitions.find import PARAMETERS, Wanted, definition, matching
from service.fhir.search_bundle import search_bundle
from service.fhir.search_control import Control
from service.fhir.search_part import PARTS, part_of, part_told, part_wanted
from service.fhir.search_query import shown
from service.web import etag, reply
from service.web.fhir import content
from service.web.fhir.conditions import is_strict, prefer_of
from service.web.house import Ask, house_of
from service.web.refusals import BadRequest

MOST = 100
_USUAL = 20
_COUNT, _FROM = "_count", "_from"
_KNOWN = (*PARAMETERS, "_format", "_pretty", _COUNT, _FROM, *PARTS)
_COUNTED = ("_summary", "count")
Said = list[tuple[str, str]]


class _Sought(Struct, frozen=True):
    """What a search asks for. ``ignored``: the names of parameters that are not known."""

    used: Said
    count: int
    start: int
    part: Control
    only_count: bool
    ignored: tuple[str, ...]


async def read_definition(request: Ask) -> Response[bytes]:
    """GET [type]/[id], with a tag that changes only with the rule book."""
    kind = _path(request)[0]
    part = content.part_asked(request, kind)
    site = house_of(request).site
    found = definition(site, kind, request.path_params["id"])
    if found is None:
        raise NotFound(f"No such {kind}.")
    headers = {"ETag": _tag(site.book.ref.digest, site.base), "Cache-Control": reply.PRIVATE}
    if etag.unchanged(request.headers.get("if-none-match"), headers["ETag"].removeprefix("W/")):
        return Response(b"", status_code=304, headers={**headers, "Vary": reply.VARY})
    return content.answer(request, part_of(found, part), headers=headers)


async def search_definitions(request: Ask) -> Response[bytes]:
    """GET [type]?url=&version=&name=&title=&status=&_id=, by pages; POST [type]/_search alike."""
    content.accepted(request)
    site, kind = house_of(request).site, _path(request)[0]
    said = await content.searched(request)
    sought = _sought(kind, said, strict=is_strict(prefer_of(request)))
    wanted = [Wanted(name, tuple(value.split(","))) for name, value in sought.used]
    found = matching(site, kind, wanted)
    start, count = sought.start, sought.count
    bundle = search_bundle(
        site.base,
        sought.part,
        [] if sought.only_count else found[start : start + count],
        (),
        total=len(found),
        links=_links(f"{site.base}/{kind}", sought, len(found)),
        ignored=() if sought.only_count else sought.ignored,
    )
    return content.answer(request, bundle, said=said)


def _sought(kind: str, said: Said, *, strict: bool) -> _Sought:
    """Raises Unreadable, BadRequest."""
    unknown = [name for name, _ in said if name not in _KNOWN]
    faults = [_unfit(name) for name in unknown if strict or name.split(":")[0] in _KNOWN]
    if faults:
        raise Unreadable("The search asks for what cannot be.", tuple(faults))
    count = min(_number(said, _COUNT, _USUAL), MOST)
    return _Sought(
        used=[(name, value) for name, value in said if name in PARAMETERS],
        count=count,
        start=_number(said, _FROM, 0),
        part=part_wanted(kind, [one for one in said if one != _COUNTED]),
        only_count=count == 0 or _COUNTED in said,
        ignored=tuple(dict.fromkeys(map(shown, unknown))),
    )


def _unfit(name: str) -> Fault:
    known = shown(name)
    text = f"{known}: definitions are not searched by it; the metadata list by what they are."
    return Fault(f"/http/{known}", "search.unknown", text)


def _links(base: str, sought: _Sought, total: int) -> list[tuple[str, str]]:
    kept = [*sought.used, *part_told(sought.part), (_COUNT, str(sought.count))]
    kept += [_COUNTED] if sought.only_count and sought.count else []
    links = [("self", f"{base}?{urlencode([*kept, (_FROM, str(sought.start))])}")]
    following = sought.start + sought.count
    if not sought.only_count and following < total:
        links.append(("next", f"{base}?{urlencode([*kept, (_FROM, str(following))])}"))
    return links


def _path(request: Ask) -> list[str]:
    """The parts of the address below the FHIR base, the type first."""
    return str(request.scope["path"]).removeprefix(content.PREFIX).strip("/").split("/")


def _tag(digest: str, base: str) -> str:
    return f'W/"{hashlib.sha256(f"{__version__} {digest} {base}".encode()).hexdigest()[:32]}"'


def _number(said: Said, name: str, usual: int) -> int:
    """Raises BadRequest."""
    given = [value for each, value in said if each == name]
    if not given:
        return usual
    if len(given) > 1 or not given[0].isascii() or not given[0].isdecimal() or len(given[0]) > 6:
        text = f"{name}: one whole number."
        raise BadRequest(text, (Fault(f"/http/{name}", "search.value", text),))
    return int(given[0])
