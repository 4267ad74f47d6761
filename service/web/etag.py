"""Which version of a thing did the client see, and is it still so?

A tag is strong and covers everything that shows: what was kept, the state at the moment of
the request, the form, and the release that wrote it. Its first part is the version that
If-Match names, and which may also be sent alone: ``"3"``.
"""

import re

from service import __version__
from service.application.ports import Standing
from service.domain.plan import Plan
from service.domain.problem import StaleVersion, VersionMissing
from service.domain.record import Answer
from service.web.negotiate import Form
from service.web.refusals import BadRequest

_CODED = re.compile(r'\+(gzip|br)"')
ANY_TAG = r'^(W/)?"[!#-~]*"$'
_NAMES_PLAN = 2
"""Which part of a plan's tag is its id."""
_VERSION = re.compile(r'"(\d{1,9})(?:\.[^"]*)?"')


def plan_tag(plan: Plan, form: Form) -> str:
    """Changes with each event of the plan, and when it lapses by the clock."""
    return f'"{plan.version}.{plan.state}.{plan.id}.{_mark(form)}"'


def screen_tag(answer: Answer, form: Form, standing: Standing | None = None) -> str:
    """Begins with the screen's version; goes on with what its plan shows now, and with where the
    patient stands if that shows too."""
    plan = answer.plan
    shown = f"{answer.screen.version}.{plan.version}.{plan.state}.{plan.id}"
    return f'"{shown}{_stands(standing)}.{_mark(form)}"'


def _stands(standing: Standing | None) -> str:
    if standing is None:
        return ""
    family = standing.family
    joined = 0 if family is None else len(family.replaces)
    return f".{standing.patient.id}.{standing.rev}.{joined}"


def _mark(form: Form) -> str:
    return f"{'f' if form == Form.FHIR else 'n'}{__version__}"


def coded(tag: str, coding: str) -> str:
    """The strong tag of the same answer in a coding: its bytes are others."""
    return f'{tag[:-1]}+{coding}"'


def unchanged(if_none_match: str | None, tag: str) -> bool:
    """Whether the client already holds what ``tag`` stands for."""
    if if_none_match is None:
        return False
    held = (part.strip().removeprefix("W/") for part in if_none_match.split(","))
    return any(one == "*" or _CODED.sub('"', one) == tag for one in held)


def expected_version(if_match: str | None) -> int:
    """The version a change is meant for. Raises VersionMissing, BadRequest, StaleVersion."""
    if if_match is None:
        raise VersionMissing("Read what is to be changed and send its ETag as If-Match.")
    if not re.fullmatch(ANY_TAG, if_match.strip()):
        raise BadRequest("If-Match must be one ETag, in its quotes.")
    found = _VERSION.fullmatch(_CODED.sub('"', if_match.strip()))
    if found is None:
        raise StaleVersion('If-Match must be the one ETag that was read, such as "1".')
    return int(found[1])


def expected_plan(if_match: str | None, plan_id: str) -> int:
    """The version of this very plan. Raises as above, and StaleVersion for the tag of anything
    else, such as the screen's or that of the plan before."""
    version = expected_version(if_match)
    named = (if_match or "").strip().strip('"').split(".")
    if len(named) > _NAMES_PLAN and named[_NAMES_PLAN] != plan_id:
        raise StaleVersion("If-Match names something else than this plan: read the plan.")
    return version
