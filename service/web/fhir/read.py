"""How is one resource read: as it is, as it was, and with all its versions?

Nothing is ever gone: what was withdrawn is read as entered in error.
"""

from litestar.response import Response
from msgspec.structs import replace

from service.application.note_reading import note_reading_of_current
from service.application.note_refusal import refused
from service.application.search_records import missed, noted
from service.application.service import Call
from service.domain.problem import NotFound
from service.fhir.search_tokens import is_id
from service.web.fhir import content
from service.web.fhir.instances import FIND, Instance
from service.web.house import Ask, house_of
from service.web.operation import Handler
from service.web.security import caller


def read(kind: str) -> Handler:
    """GET [type]/[id]."""

    async def answer(request: Ask) -> Response[bytes]:
        content.part_asked(request, kind)
        call = await caller(request)
        found = await found_instance(request, call, kind, "read", 1)
        return content.versioned(request, found.versions[0])

    return answer


def read_version(kind: str, most: int) -> Handler:
    """GET [type]/[id]/_history/[version]."""

    async def answer(request: Ask) -> Response[bytes]:
        content.part_asked(request, kind)
        call = await caller(request)
        found = await found_instance(
            request, call, kind, "vread", most, request.path_params["version"]
        )
        return content.versioned(request, found.versions[0])

    return answer


async def found_instance(
    request: Ask, call: Call, kind: str, what: str, most: int, version: str | None = None
) -> Instance:
    """The resource that the address names, or the one ``version`` of it, its reading noted.
    Raises NotFound."""
    house, name = house_of(request), request.path_params["id"]
    action = f"{kind.lower()}.{what}"
    found = await FIND[kind](house, call, name, most) if is_id(name) else None
    if found is None:
        raise await missed(house.service, call, action, f"No such {kind}.")
    if version is not None:
        of_it = tuple([one for one in found.versions if one.meta.version_id == version])
        if not of_it:
            problem = NotFound(f"No such version of this {kind}.")
            raise await refused(house.service, call, action, problem, found.patient)
        found = replace(found, versions=of_it)
    if found.is_current and what == "read":
        entry = call.entry(action, "ok", found.patient, name)
        await note_reading_of_current(house.service, entry)
    else:
        await noted(house.service, call, action, [found.patient], name)
    return found
