"""Could a response to our own questionnaire be taken as a screen?"""

import re
from collections.abc import Iterable, Iterator
from typing import Any

from service.domain.problem import Fault, Refused
from service.domain.screen import Screen
from service.domain.sense import faults_of
from service.fhir.outcome import expression_of
from service.fhir.questionnaire_response import QUESTIONNAIRE
from service.fhir.read_envelope import STATUSES, Draft
from service.fhir.read_response import ROOT, draft_of, retold, screen_of
from service.fhir.site import Site
from service.fhir.validate_finding import Finding, Rule, Severity

_WITHDRAWN = "entered-in-error"
_UNFINISHED = "in-progress"
_TAKEN = tuple(status for status in STATUSES if status != _UNFINISHED)
_CHOICE = re.compile(r"\.value[A-Z]\w*")
# What a patient who is known here need not be asked again.
_OF_PERSON = re.compile(r"\(linkId patient\.")


def questionnaire_of(site: Site) -> str:
    """The canonical of our questionnaire, without its version."""
    return site.definition("Questionnaire", QUESTIONNAIRE).partition("|")[0]


def response_findings(site: Site, raw: Any, path: str) -> Iterator[Finding]:
    """``raw``: a response to our questionnaire, at ``path``."""
    for each in _faults(site, raw):
        place = expression_of(each.path.removeprefix(ROOT))
        where = f"{path}.{_CHOICE.sub('.value', place)}" if place else path
        of_person = each.rule == "shape.missing" and _OF_PERSON.search(each.text)
        severity = Severity.WARNING if of_person or each.rule == "form.status" else Severity.ERROR
        yield Finding(Rule.RESPONSE, where, each.text, severity, f"{each.rule} {each.text}")


def _faults(site: Site, raw: Any) -> Iterable[Fault]:
    try:
        draft = draft_of(site, raw)
        if draft.status == _WITHDRAWN:
            return draft.reading.faults
        return _of_screen(draft, screen_of(draft, None, _TAKEN))
    except Refused as problem:
        return problem.faults


def _of_screen(draft: Draft, screen: Screen) -> Iterable[Fault]:
    """When it came is not known here, so that it lies in the future is not seen."""
    return retold(draft, faults_of(screen, screen.observed_at))
