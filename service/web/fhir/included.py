"""What is brought along with what was found: whose it is, and who made it from what?"""

from typing import Any

from service.application.search_records import noted, screen_versions
from service.fhir.provenance_history import newest_provenance
from service.web.fhir.instances import FIND
from service.web.fhir.search_look import Search, tells_of
from service.web.fhir.search_walk import Unit
from service.web.scopes import allow, needs


async def included_with(search: Search, matches: tuple[tuple[Unit, Any], ...]) -> tuple[Any, ...]:
    """Each once. What the caller may not read is left out."""
    control, call = search.query.control, search.call
    found: list[Any] = []
    if control.includes and allow(call, needs("Patient", "r")):
        found += await _patients(search, matches)
    if control.rev_includes and allow(call, needs("Provenance", "r")):
        found += await _provenances(search, matches)
    return tuple(found)


async def _patients(search: Search, matches: tuple[tuple[Unit, Any], ...]) -> list[Any]:
    """Of each patient that something was found of, wherever its subject leads."""
    found = []
    for name in dict.fromkeys(unit.patient for unit, _ in matches):
        if name is None:
            continue
        instance = await FIND["Patient"](search.house, search.call, name, 1)
        if instance is not None:
            found.append(instance.versions[0])
    if found:
        ids = [str(one.id) for one in found]
        await noted(search.house.service, search.call, "patient.read", ids)
    return found


async def _provenances(search: Search, matches: tuple[tuple[Unit, Any], ...]) -> list[Any]:
    """Of each screen that something was found of, where it tells of that."""
    service, shown = search.house.service, [one for _, one in matches]
    found = []
    for screen in dict.fromkeys(unit.screen for unit, _ in matches):
        if screen is None:
            continue
        history = await screen_versions(service, search.call, screen)
        if not history:
            continue
        made = newest_provenance(search.house.site, history, search.now)
        if any(tells_of(made, type(one).__name__, one.id) for one in shown):
            found.append(made)
    return found
