"""Is a resource held to what this deployment publishes, and does all of ours keep to it?"""

from collections.abc import Iterator
from typing import Any

import pytest

from service.domain.screen import Screen
from service.fhir.bundle import bundle_of
from service.fhir.definitions.everything import all_definitions
from service.fhir.encode import bytes_of
from service.fhir.site import CANONICAL, code_system, site_of
from service.fhir.software import device_of
from service.fhir.validate import read_tree, validate
from service.fhir.validate_finding import Severity
from service.fhir.validate_ours import known_at, known_here
from service.fhir.validate_profile_tree import Asked, expected_at
from service.rules.load import load_book
from tests.fhir.answers import (
    BARE,
    FULL,
    HELPED,
    SITE,
    answer_to,
    corrected,
    previewed,
    withdrawn,
)
from tests.fhir.broken import OBSERVATION, SAMPLES, changed, faults, found, read

KNOWN = known_here()
DEFINITIONS = all_definitions(site_of(load_book(), CANONICAL))


def test_every_code_of_our_own_systems_is_known() -> None:
    assert "sling_lift" in KNOWN.systems[code_system(CANONICAL, "method")]


def test_it_is_made_once_for_a_site() -> None:
    assert known_at(SITE) is known_at(SITE)


def test_a_code_that_we_do_not_have_is_told() -> None:
    ours = {"system": code_system(CANONICAL, "method"), "code": "carried"}
    resource = changed(OBSERVATION, "code.coding.0", ours)
    assert faults(resource, KNOWN) == [("unknown_code", "Observation.code.coding[0].code")]


def test_an_address_of_ours_that_leads_to_nothing_is_told() -> None:
    ours = {"system": code_system(CANONICAL, "metod"), "code": "sling_lift"}
    resource = changed(OBSERVATION, "code.coding.0", ours)
    assert faults(resource, KNOWN) == [("unknown_code", "Observation.code.coding[0].system")]
    extension = {"url": f"{CANONICAL}/StructureDefinition/helper", "valueString": "x"}
    assert faults({**OBSERVATION, "extension": [extension]}, KNOWN) == [
        ("profile_unknown", "Observation.extension[0].url")
    ]


def test_an_extension_of_ours_stands_where_it_was_published_for_and_changes_no_meaning() -> None:
    helpers = {"url": f"{CANONICAL}/StructureDefinition/helpers", "valueUnsignedInt": 1}
    detail: Any = {"status": "scheduled", "description": "x", "extension": [helpers]}
    plan = {
        "resourceType": "CarePlan", "status": "active", "intent": "plan",
        "text": OBSERVATION["text"], "subject": {"reference": "Patient/p"},
        "activity": [{"detail": detail}],
    }  # fmt: skip
    assert faults(plan, KNOWN) == []
    assert faults({**plan, "extension": [helpers]}, KNOWN) == [
        ("unknown_element", "CarePlan.extension[0]")
    ]
    detail["modifierExtension"] = detail.pop("extension")
    path = "CarePlan.activity[0].detail.modifierExtension[0]"
    assert faults(plan, KNOWN) == [("unknown_element", path)]


@pytest.mark.parametrize("one", DEFINITIONS, ids=lambda one: f"{type(one).__name__}-{one.id}")
def test_every_definition_of_ours_is_valid(one: Any) -> None:
    told = validate(read_tree(bytes_of(one)), KNOWN)
    assert [each for each in told if each.severity != Severity.INFORMATION] == []


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.parent.name)
def test_every_sample_keeps_to_our_profiles(path: Any) -> None:
    assert found(read(path), KNOWN) == ()


@pytest.mark.parametrize("screen", [FULL, HELPED, BARE], ids=["full", "helped", "bare"])
def test_every_answer_keeps_to_our_profiles(screen: Screen) -> None:
    answer = answer_to(screen)
    for one in (answer, corrected(answer), withdrawn(answer), previewed(answer)):
        assert found(read_tree(bytes_of(bundle_of(SITE, one))), KNOWN) == ()


def slices(asked: Asked) -> Iterator[tuple[Asked, tuple[str, ...]]]:
    for inner in (*asked.inner.values(), *asked.slices.values()):
        yield from slices(inner)
    for one in asked.slices.values():
        yield one, asked.discriminators


def test_every_slice_of_our_profiles_can_be_told_from_the_others() -> None:
    listed = [each for profile in KNOWN.profiles.values() for each in slices(profile.root)]
    assert len(listed) > 10
    for one, discriminators in listed:
        assert discriminators, one.path
        assert all(expected_at(one, path) is not None for path in discriminators), one.path


def resources() -> dict[str, Any]:
    """Of each profile of ours a resource that names it, as it goes out."""
    named: dict[str, Any] = {}
    software = read_tree(bytes_of(device_of(SITE, SITE.book.ref)))
    for resource in (software, *(each for one in (HELPED, FULL) for each in _answered(one))):
        for url in resource["meta"].get("profile", ()):
            named[url] = resource
    return named


def _answered(screen: Screen) -> list[Any]:
    bundle = read_tree(bytes_of(bundle_of(SITE, answer_to(screen))))
    return [entry["resource"] for entry in bundle["entry"]]


def must(asked: Asked, resource: Any, path: str = "") -> Iterator[str]:
    """Where a resource has what the profile requires of it."""
    for name, inner in asked.inner.items():
        at = f"{path}.{name}".removeprefix(".")
        if isinstance(resource, dict) and name in resource:
            if inner.least > 0:
                yield at
            value = resource[name]
            if isinstance(value, list):
                yield from must(inner, value[0], f"{at}.0")
            else:
                yield from must(inner, value, at)


CASES = [
    (url, path)
    for url, resource in resources().items()
    for path in must(KNOWN.profiles[url].root, resource)
]


@pytest.mark.parametrize(("url", "path"), CASES, ids=lambda part: part.rpartition("/")[2])
def test_whatever_a_profile_requires_is_missed_when_it_is_gone(url: str, path: str) -> None:
    resource = resources_once()[url]
    assert found(resource, KNOWN) == ()
    where = resource["resourceType"] + "".join(
        f"[{step}]" if step.isdecimal() else f".{step}" for step in path.split(".")
    )
    told = [each.path for each in found(changed(resource, path, ...), KNOWN)]
    assert any(each.startswith(where) or where.startswith(each) for each in told)


_ONCE: dict[str, Any] = {}


def resources_once() -> dict[str, Any]:
    if not _ONCE:
        _ONCE.update(resources())
    return _ONCE


def test_every_profile_of_a_resource_goes_out_somewhere() -> None:
    ours = {url for url, each in KNOWN.profiles.items() if each.type != "Extension"}
    assert ours - set(resources_once()) == set()
