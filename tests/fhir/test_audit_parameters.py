"""Is the trail searched by parameters of the standard, each asked of the entry itself?"""

import json
import tarfile
from datetime import UTC
from pathlib import Path

import pytest

from service.fhir.audit_parameters import AUDIT, AUDIT_EVENT, SEARCHED
from service.fhir.search_parameters import PARAMETERS
from service.fhir.search_query import read_query
from tests.fhir.answers import BASE
from tests.fhir.test_audit_event import NOTED
from tests.fhir.validators import definitions


def holds(*said: tuple[str, str]) -> bool:
    return read_query(AUDIT_EVENT, said, BASE, UTC).holds(NOTED, NOTED.at)


def test_each_parameter_is_the_standard_s_own() -> None:
    kinds = {}
    with tarfile.open(definitions()) as package:
        for member in package:
            name = Path(member.name).stem
            file = package.extractfile(member)
            if file is not None and name.startswith("SearchParameter-AuditEvent-"):
                resource = json.loads(file.read())
                kinds[resource["id"]] = (resource["code"], resource["type"])
    for name, one in AUDIT.items():
        if not name.startswith("_"):
            assert kinds[one.definition] == (name, one.kind)


def test_the_trail_is_searched_beside_the_record() -> None:
    assert SEARCHED == {**PARAMETERS, AUDIT_EVENT: AUDIT}


@pytest.mark.parametrize(
    "said",
    [
        ("date", "2026-03-04"),
        ("_lastUpdated", "gt2026-03-03"),
        ("agent", "cred-1"),
        ("agent:identifier", "cred-1"),
        ("altid", "cred-1,cred-2"),
        ("action", "R"),
        ("action", "http://hl7.org/fhir/audit-event-action|R"),
        ("outcome", "0"),
        ("type", "rest"),
        ("subtype", "http://hl7.org/fhir/restful-interaction|read"),
        ("subtype:not", "create"),
    ],
)
def test_a_condition_that_the_entry_answers(said: tuple[str, str]) -> None:
    assert holds(said)


@pytest.mark.parametrize(
    "said",
    [
        ("date", "2026-03-05"),
        ("agent", "cred-2"),
        ("altid", "cred"),
        ("action", "C"),
        ("outcome", "4,8"),
        ("type", "110100"),
        ("subtype", "create"),
    ],
)
def test_a_condition_that_it_does_not(said: tuple[str, str]) -> None:
    assert not holds(said)
