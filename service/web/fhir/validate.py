"""How is a resource looked at over HTTP, without being kept?

``$validate`` answers 200 whether the resource is valid or not; only what is no JSON is refused.
"""

import asyncio
import time
from concurrent.futures import ThreadPoolExecutor
from functools import partial

from litestar.response import Response
from msgspec.structs import replace

from service.application.search_records import noted
from service.domain.problem import NotFound
from service.fhir.base_facts import known_resources
from service.fhir.definitions.find import definition
from service.fhir.encode import bytes_of
from service.fhir.site import Site
from service.fhir.validate import Wanted, read_tree, validate
from service.fhir.validate_finding import Finding, Rule
from service.fhir.validate_ours import known_at
from service.fhir.validate_outcome import outcome_of_findings
from service.fhir.validate_request import Asked, asked_of, mode_findings
from service.web.bodies import bytes_of_body
from service.web.fhir import content
from service.web.fhir.instances import FIND
from service.web.fhir.read import found_instance
from service.web.house import Ask, house_of
from service.web.refusals import BadRequest
from service.web.scopes import needs, require
from service.web.security import caller

PUBLISHED = (
    "ActivityDefinition", "CodeSystem", "ConceptMap", "OperationDefinition", "PlanDefinition",
    "Questionnaire", "SearchParameter", "StructureDefinition", "ValueSet",
)  # fmt: skip
TYPES = known_resources()
"""Of which a resource can be looked at."""
KEPT = tuple(sorted({*FIND, *PUBLISHED}))
"""Of which one that is kept can be looked at."""
_OF_NOBODY = (*PUBLISHED, "CapabilityStatement", "ImplementationGuide")
"""Types that never tell of a person."""
_PARAMETERS = ("mode", "profile")
_OUTPUT = ("_format", "_pretty")
# It is work for a processor alone: one at a time, beside the loop that answers everybody else.
_PAUSE = partial(time.sleep, 0)
_DESK = ThreadPoolExecutor(max_workers=1, thread_name_prefix="validate")


async def validate_type(request: Ask) -> Response[bytes]:
    """POST [type]/$validate, a resource or Parameters with resource, mode and profile."""
    kind = kind_of(request)
    said = _said(request)
    asked = asked_of(read_tree(await content.body_of(request)), kind)
    await _note_sent(request, kind)
    return await _looked_at(request, kind, _with(asked, said))


async def validate_instance(request: Ask) -> Response[bytes]:
    """GET or POST [type]/[id]/$validate: what is sent, or what is kept where nothing is."""
    kind, said = kind_of(request), _said(request)
    resource_id: str = request.path_params["id"]
    asked = Asked(None)
    if request.method == "POST" and await bytes_of_body(request):
        asked = asked_of(read_tree(await content.body_of(request)), kind)
    if asked.resource is not None:
        await _note_sent(request, kind)
    else:
        kept = await _kept(request, kind, resource_id)
        asked = replace(asked, resource=read_tree(kept))
    return await _looked_at(request, kind, _with(asked, said), resource_id)


def deed_of(kind: str) -> str:
    """What the audit trail calls it; nothing where it is no access to a person's data."""
    return "" if kind in _OF_NOBODY else f"{kind.lower()}.validate"


def kind_of(request: Ask) -> str:
    """The type of resource that the address names."""
    path: str = request.scope["path"]
    return path.removeprefix(f"{content.PREFIX}/").partition("/")[0]


def _said(request: Ask) -> Asked:
    """What stands in the address itself. Raises BadRequest, NotAcceptable."""
    content.accepted(request)
    given = content.parameters_of(request)
    unknown = [name for name, _ in given if name not in (*_PARAMETERS, *_OUTPUT)]
    if unknown:
        raise BadRequest("$validate takes mode and profile in its address. Leave out the rest.")
    modes = [value for name, value in given if name == "mode"]
    profiles = tuple(value for name, value in given if name == "profile")
    return Asked(None, modes[0] if modes else "", profiles)


def _with(asked: Asked, said: Asked) -> Asked:
    return replace(asked, mode=asked.mode or said.mode, profiles=(*asked.profiles, *said.profiles))


async def _kept(request: Ask, kind: str, resource_id: str) -> bytes:
    """The resource as it would be read now, its reading noted. Raises NotFound, NotAllowed."""
    call = await caller(request)
    require(call, needs(kind, "r"))
    if kind in FIND:
        found = await found_instance(request, call, kind, "read", 1)
        return bytes_of(found.versions[0])
    published = definition(house_of(request).site, kind, resource_id)
    if published is None:
        raise NotFound(f"No such {kind}.")
    return bytes_of(published)


async def _note_sent(request: Ask, kind: str) -> None:
    """What is sent to be looked at may tell of a person, whom the trail cannot name."""
    if deed := deed_of(kind):
        await noted(house_of(request).service, await caller(request), deed, ())


async def _looked_at(
    request: Ask, kind: str, asked: Asked, resource_id: str = ""
) -> Response[bytes]:
    site = house_of(request).site
    if asked.resource is None:
        text = "Send a resource, or Parameters with a parameter called resource."
        found: tuple[Finding, ...] = (Finding(Rule.NO_RESOURCE, "", text),)
    else:
        loop = asyncio.get_running_loop()
        found = await loop.run_in_executor(_DESK, _findings, site, kind, asked, resource_id)
    return content.answer(request, outcome_of_findings(found, site.canonical))


def _findings(site: Site, kind: str, asked: Asked, resource_id: str) -> tuple[Finding, ...]:
    """Pausing lets the loop have the interpreter between any two values."""
    wanted = Wanted(kind, asked.profiles, mode_findings(asked, resource_id), _PAUSE)
    return validate(asked.resource, known_at(site), wanted)
