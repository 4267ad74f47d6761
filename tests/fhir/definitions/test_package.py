"""Does the package load where others load theirs, and do its examples keep their profiles?"""

import copy
import io
import json
import tarfile
from collections.abc import Callable
from typing import Any

import pytest

from service.demo.scenario import here
from service.demo.scenario import read as read_samples
from service.fhir.codes import LOINC, SNOMED
from service.fhir.definitions.examples import examples, profile_shown
from service.fhir.definitions.guide import PACKAGE
from service.fhir.definitions.package import CORE, file_name, files_of, package_of
from service.fhir.definitions.profiles import PROFILES
from service.fhir.notices import LOINC_NOTICE, SNOMED_NOTICE
from service.fhir.site import site_of
from service.fhir.validate import validate
from service.fhir.validate_finding import Severity
from service.fhir.validate_ours import known_at
from tests.fhir.answers import BOOK, SITE
from tests.fhir.definitions.definition_alarms import EXAMPLE_RAW, EXAMPLES
from tests.fhir.definitions.loaded import loaded, package, package_faults
from tests.fhir.definitions.published import PLAIN, Json
from tests.fhir.own_checks import resource_faults
from tests.fhir.validators import form_faults, parse_faults, read

GUIDE = f"ImplementationGuide-{PACKAGE}.json"


def inside() -> dict[str, Any]:
    with tarfile.open(fileobj=io.BytesIO(package()), mode="r:gz") as archive:
        found = {}
        for member in archive.getmembers():
            if not member.name.endswith(".json"):
                continue
            held = archive.extractfile(member)
            assert held is not None
            found[member.name] = json.loads(held.read())
        return found


FILES = inside()


def test_the_manifest_says_what_it_is_and_what_it_needs() -> None:
    told = FILES["package/package.json"]
    assert told["name"] == PACKAGE
    assert told["version"] == BOOK.ref.version
    assert told["fhirVersions"] == ["4.0.1"]
    assert told["dependencies"] == {CORE: "4.0.1"}
    assert told["canonical"] == SITE.canonical
    assert file_name(SITE) == f"{PACKAGE}-{BOOK.ref.version}.tgz"


def test_every_definition_is_in_it_and_in_the_index() -> None:
    index = {one["filename"]: one for one in FILES["package/.index.json"]["files"]}
    for place, one in PLAIN.items():
        name = f"{place.replace('/', '-')}.json"
        assert FILES[f"package/{name}"] == one
        assert index[name]["url"] == one["url"]
        assert index[name]["resourceType"] == one["resourceType"]
    assert set(index) == {f"{place.replace('/', '-')}.json" for place in PLAIN} | {GUIDE}
    assert index[GUIDE]["url"] == f"{SITE.canonical}/ImplementationGuide/{PACKAGE}"


def test_the_same_content_gives_the_same_bytes() -> None:
    shown = examples(SITE, [one.screen for one in read_samples(here())])
    assert package_of(SITE, shown) == package_of(SITE, dict(reversed(shown.items()))) == package()
    with tarfile.open(fileobj=io.BytesIO(package()), mode="r:gz") as archive:
        names = archive.getnames()
        assert names == sorted(names)
        assert {member.mtime for member in archive.getmembers()} == {0}


def shipped(spoken: frozenset[str]) -> dict[str, bytes]:
    site = site_of(BOOK, SITE.base, SITE.canonical, spoken)
    return files_of(site, examples(site, [one.screen for one in read_samples(here())]))


@pytest.mark.parametrize("spoken", [frozenset(), {LOINC}, {SNOMED}, {LOINC, SNOMED}])
def test_each_standard_system_is_shipped_with_its_notice_or_not_at_all(spoken: set[str]) -> None:
    files = shipped(frozenset(spoken))
    notices = {LOINC: LOINC_NOTICE, SNOMED: SNOMED_NOTICE}
    told = files.get("package/other/NOTICE.txt", b"").decode()
    assert {system for system, notice in notices.items() if notice in told} == spoken
    for name, raw in files.items():
        body = raw.decode().casefold()
        for system, word in ((LOINC, "loinc"), (SNOMED, "snomed")):
            if system not in spoken:
                assert word not in body, name
            elif f'"{system}"' in body and not name.startswith("package/example/"):
                assert json.loads(raw)["copyright"] == notices[system], name


def test_without_examples_there_are_none() -> None:
    held = [name for name in files_of(SITE, {}) if "/example/" in name]
    assert held == ["package/example/.index.json"]


def test_there_is_an_example_of_every_profile_and_each_is_a_file_of_its_own() -> None:
    assert {profile_shown(name) for name in EXAMPLES} == set(PROFILES)
    shown = [name for name in FILES if name.startswith("package/example/")]
    assert len(shown) == len(EXAMPLES) + 1


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_keeps_its_profile_by_everybodys_judgement(name: str) -> None:
    url = SITE.profile(profile_shown(name))
    assert loaded().profile_registry.get(url) is not None
    assert url in EXAMPLES[name]["meta"]["profile"]
    assert package_faults(EXAMPLES[name]) == []
    assert form_faults(EXAMPLE_RAW[name]) == []
    assert parse_faults(EXAMPLE_RAW[name]) == []
    assert resource_faults(read(EXAMPLE_RAW[name])) == []
    found = validate(read(EXAMPLE_RAW[name]), known_at(SITE))
    assert {one.severity for one in found} == {Severity.INFORMATION}


def put(name: str, value: Any) -> Callable[[Json], None]:
    def change(resource: Json) -> None:
        resource[name] = value

    return change


def drop(*names: str) -> Callable[[Json], None]:
    """Takes away what stands under the last name."""

    def change(resource: Json) -> None:
        place: Any = resource
        for name in names[:-1]:
            place = place[int(name)] if name.isdecimal() else place[name]
        del place[int(names[-1]) if names[-1].isdecimal() else names[-1]]

    return change


def unhelped(resource: Json) -> None:
    detail = resource["activity"][0]["detail"]
    url = SITE.extension("helpers")
    detail["extension"] = [one for one in detail["extension"] if one["url"] != url]


def forbidden(resource: Json) -> None:
    resource["activity"][0]["detail"]["doNotPerform"] = True


def silent(resource: Json) -> None:
    for one in resource["activity"]:
        one["detail"]["description"] = "Helpers: 0."


def by_request(resource: Json) -> None:
    resource["activity"][0] = {"reference": {"reference": "ServiceRequest/a"}}


def unheard_of(resource: Json) -> None:
    resource["activity"][0]["detail"]["code"]["coding"][0]["code"] = "carry"


QUANTITY = {"value": 1, "unit": "kg", "system": "http://unitsofmeasure.org", "code": "kg"}


@pytest.mark.parametrize(
    ("name", "change", "said"),
    [
        ("care-plan", unhelped, "stn-plan-1"),
        ("care-plan", forbidden, "doNotPerform"),
        ("care-plan", by_request, "reference"),
        ("care-plan", unheard_of, "carry"),
        ("care-plan-overruled", silent, "stn-plan-3"),
        ("care-plan-overruled", silent, "stn-plan-4"),
        ("care-plan", put("intent", "order"), "intent"),
        ("care-plan", drop("category", "1"), "category"),
        ("care-plan", drop("period"), "period"),
        ("care-plan", put("identifier", [{"system": "urn:a", "value": "1"}]), "identifier"),
        ("goal", drop("identifier", "0", "value"), "identifier"),
        ("care-plan", drop("subject", "identifier"), "identifier"),
        ("panel", put("valueQuantity", QUANTITY), "value"),
        ("panel", drop("hasMember"), "hasMember"),
        ("panel", put("status", "preliminary"), "stn-panel-status"),
        ("panel", put("category", [{"text": "Survey"}]), "category"),
        ("finding", drop("effectiveDateTime"), "effective"),
        ("finding", drop("derivedFrom"), "derivedFrom"),
        ("vital-sign", put("code", {"coding": [{"system": "urn:a", "code": "b"}]}), "code"),
        ("questionnaire-response", put("questionnaire", "http://a.example/b|1"), "stn-response-1"),
        ("questionnaire-response", drop("authored"), "authored"),
        ("patient", drop("identifier"), "identifier"),
        ("provenance", drop("entity"), "entity"),
        ("goal", drop("target"), "target"),
        ("flag", put("code", {"coding": [{"system": "urn:a", "code": "b"}]}), "code"),
        ("task", put("intent", "order"), "intent"),
        ("task", put("owner", {"display": "Ward"}), "owner"),
        ("device", drop("version"), "version"),
    ],
)
def test_an_example_that_breaks_a_promise_is_seen(
    name: str, change: Callable[[Json], None], said: str
) -> None:
    broken = copy.deepcopy(EXAMPLES[name])
    if name == "care-plan":
        broken["activity"] = broken["activity"][:1]
    change(broken)
    found = package_faults(broken)
    assert any(said in fault for fault in found), found
