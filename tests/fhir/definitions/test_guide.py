"""Does the guide list all that the package holds, and does everybody take it for one?"""

import json

from service.fhir.definitions.everything import all_definitions
from service.fhir.definitions.guide import PACKAGE, guide
from service.fhir.encode import bytes_of
from service.fhir.site import site_of
from service.fhir.validate import read_tree, validate
from service.fhir.validate_finding import Severity
from tests.fhir.answers import BASE, BOOK, SITE
from tests.fhir.definitions.definition_alarms import EXAMPLES, is_known
from tests.fhir.definitions.loaded import issues, package_faults
from tests.fhir.definitions.published import PLAIN
from tests.fhir.definitions.test_package import FILES, GUIDE
from tests.fhir.own_checks import resource_faults
from tests.fhir.validators import form_faults, official, parse_faults, read, told

TOLD = FILES[f"package/{GUIDE}"]
RAW = json.dumps(TOLD).encode()
LISTED = {one["reference"]["reference"]: one for one in TOLD["definition"]["resource"]}


def test_nobody_finds_a_fault_in_it() -> None:
    assert resource_faults(read(RAW)) == []
    assert form_faults(RAW) == []
    assert parse_faults(RAW) == []
    assert [told(one) for one in issues(TOLD, official()) if not is_known(one)] == []
    assert package_faults(TOLD) == []
    found = validate(read_tree(RAW))
    assert {one.severity for one in found} == {Severity.INFORMATION}


def test_everything_in_the_package_is_listed_once_and_nothing_else() -> None:
    names = {
        f"{one['resourceType']}/{one['id']}"
        for place, one in FILES.items()
        if "resourceType" in one and not place.endswith(GUIDE)
    }
    assert set(LISTED) == names
    assert len(TOLD["definition"]["resource"]) == len(names)
    assert set(PLAIN) < names


def test_each_example_is_told_with_the_profile_that_it_keeps() -> None:
    shown = {place: one for place, one in LISTED.items() if "exampleCanonical" in one}
    assert len(shown) == len(EXAMPLES)
    for place, one in shown.items():
        url, _, version = one["exampleCanonical"].partition("|")
        kind, _, name = place.partition("/")
        assert url in FILES[f"package/example/{kind}-{name}.json"]["meta"]["profile"]
        assert version == BOOK.ref.version
    assert all(one["exampleBoolean"] is False for place, one in LISTED.items() if place in PLAIN)


def test_it_says_of_which_package_and_release_it_is() -> None:
    assert (TOLD["id"], TOLD["packageId"]) == (PACKAGE, PACKAGE)
    assert TOLD["fhirVersion"] == ["4.0.1"]
    assert TOLD["license"] == FILES["package/package.json"]["license"]
    assert "Regenstrief" in TOLD["copyright"]


def test_without_standard_codes_there_is_no_notice_of_any() -> None:
    site = site_of(BOOK, BASE, SITE.canonical, frozenset())
    assert b"copyright" not in bytes_of(guide(site, all_definitions(site), {}))
