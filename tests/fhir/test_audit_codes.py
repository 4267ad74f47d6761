"""Are the codes of the trail those of the official value sets, and is every deed among them?"""

import json
import re
import tarfile
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from service.fhir import audit_codes
from service.fhir.audit_codes import _DEEDS, DONE, FAILED, REFUSED, Deed, deed_of, outcome_of
from service.fhir.structs import Coding
from tests.fhir.validators import definitions
from tests.house.tree import ROOT

TYPE, SUBTYPE = "ValueSet-audit-event-type", "ValueSet-audit-event-sub-type"
OF_FHIR = ("careplan.read", "goal.vread", "flag.history", "observation.search", "patient.update")
DEEDS = {
    **_DEEDS,
    **{one: deed_of(one) for one in (*OF_FHIR, "questionnaireresponse.create", "x", "x.read")},
}


@cache
def official() -> dict[str, Any]:
    """The official value sets and code systems, by name; systems by their address too."""
    found = {}
    with tarfile.open(definitions()) as package:
        for member in package:
            name = Path(member.name).stem
            file = package.extractfile(member)
            if file is not None and name.startswith(("ValueSet-", "CodeSystem-")):
                resource = json.loads(file.read())
                found[name] = resource
                if name.startswith("CodeSystem-"):
                    found[resource["url"]] = resource
    return found


def display(coding: Coding) -> str | None:
    """What the code system calls the code; None where it has no such code."""
    listed = official()[coding.system]["concept"]
    return next((one["display"] for one in listed if one["code"] == coding.code), None)


def is_in(value_set: str, coding: Coding) -> bool:
    for include in official()[value_set]["compose"]["include"]:
        if include.get("system") == coding.system:
            codes = [one["code"] for one in include.get("concept", [])]
            return coding.code in codes if codes else display(coding) is not None
    return False


@pytest.mark.parametrize("deed", DEEDS.values(), ids=DEEDS)
def test_type_and_subtype_are_of_the_value_sets_and_called_as_there(deed: Deed) -> None:
    assert is_in(TYPE, deed.type)
    assert all(is_in(SUBTYPE, one) for one in deed.subtype)
    for one in (deed.type, *deed.subtype):
        assert display(one) == one.display
    actions = official()["CodeSystem-audit-event-action"]["concept"]
    assert deed.action in [one["code"] for one in actions]


@pytest.mark.parametrize("name", ["SERVER", "PERSON", "OTHER", "PATIENT", "RESOURCE"])
def test_the_other_codings_are_called_as_their_systems_call_them(name: str) -> None:
    coding: Coding = getattr(audit_codes, name)
    assert display(coding) == coding.display


def test_outcomes_are_done_refused_or_failed() -> None:
    codes = [one["code"] for one in official()["CodeSystem-audit-event-outcome"]["concept"]]
    assert {DONE, REFUSED, FAILED} <= set(codes)
    assert [outcome_of(one) for one in ("ok", "replayed")] == [DONE, DONE]
    assert [outcome_of(one) for one in ("not_found", "StaleVersion", "", "lacks x")] == [
        REFUSED
    ] * 4
    assert [outcome_of(one) for one in ("Unavailable", "unreadable")] == [FAILED, FAILED]


def test_every_action_that_is_noted_anywhere_has_a_deed_of_its_own() -> None:
    """Whoever notes something new says with which codes it is told."""
    called = r"(?:entry|AuditEntry|_audit|audit_command|missed|_tell)"
    named = re.compile(called + r"\([^()]*?\"([a-z]+\.[a-z]+)\"", re.DOTALL)
    found = {
        action
        for path in (ROOT / "service").rglob("*.py")
        for action in named.findall(path.read_text(encoding="utf-8"))
    }
    assert len(found) > 20
    unknown = {one for one in found if deed_of(one) == deed_of("something.new")}
    assert unknown == set()
