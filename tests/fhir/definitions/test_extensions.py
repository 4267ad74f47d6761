"""Is every extension that leaves published, with the value that it has and where it stands?"""

import json
from collections.abc import Iterator
from typing import Any

import pytest

from service.demo.scenario import here
from service.demo.scenario import read as read_samples
from service.fhir.bundle import bundle_of
from service.fhir.definitions.examples import answer_to as example
from service.fhir.definitions.extensions import OWN
from service.fhir.encode import bytes_of
from service.fhir.read_envelope import CORRECTION_REASON
from tests.fhir.answers import HELPED, SITE, STATES, answer_to
from tests.fhir.definitions.published import Json, of
from tests.fhir.overruled import after, every_choice

DEFINED = {
    one["url"]: one for one in of("StructureDefinition").values() if one["type"] == "Extension"
}


def sent(value: Any, path: str) -> Iterator[tuple[str, Json]]:
    """Every extension of ours with the path of what it stands in."""
    if isinstance(value, dict):
        for one in value.get("extension", []):
            if one["url"].startswith(SITE.canonical):
                yield path, one
        for name, inner in value.items():
            yield from sent(inner, f"{path}.{name}")
    if isinstance(value, list):
        for inner in value:
            yield from sent(inner, path)


def faults(path: str, one: Json) -> Iterator[str]:
    """What in ``one`` is not as its definition says."""
    definition = DEFINED.get(one["url"])
    if definition is None:
        yield f"{one['url']}: not published"
        return
    if path != definition["context"][0]["expression"]:
        yield f"{one['url']}: stands in {path}"
    elements = {each["id"]: each for each in definition["snapshot"]["element"]}
    yield from _value("Extension", one, elements)
    names = [each["url"] for each in one.get("extension", [])]
    for place, element in elements.items():
        name = place.removeprefix("Extension.extension:")
        is_part = place.startswith("Extension.extension:") and "." not in name
        if is_part and not element["min"] <= names.count(name) <= int(element["max"]):
            yield f"{one['url']}: {names.count(name)} of {name}"
    for part in one.get("extension", []):
        yield from _value(f"Extension.extension:{part['url']}", part, elements)


def _value(place: str, one: Json, elements: dict[str, Json]) -> Iterator[str]:
    allowed = elements.get(f"{place}.value[x]", {})
    values = [name for name in one if name.startswith("value")]
    if not allowed.get("min", 0) <= len(values) <= int(allowed.get("max", "0")):
        yield f"{place}: {len(values)} values"
    types = [f"value{kind['code'][0].upper()}{kind['code'][1:]}" for kind in allowed["type"]]
    for name in values:
        if name not in types:
            yield f"{place}: {name}"


def everything_sent() -> Iterator[tuple[str, Json]]:
    answers = [example(SITE, one.screen, one.number) for one in read_samples(here())]
    answers += [STATES[name]() for name in STATES if name != "hostile"]
    answers += [after(answer_to(HELPED), *told) for told in every_choice(answer_to(HELPED))]
    for answer in answers:
        for entry in json.loads(bytes_of(bundle_of(SITE, answer)))["entry"]:
            yield from sent(entry["resource"], entry["resource"]["resourceType"])


def test_every_extension_that_leaves_is_as_it_is_published() -> None:
    found = list(everything_sent())
    assert [fault for path, one in found for fault in faults(path, one)] == []
    left = {one["url"] for _, one in found}
    assert left == {SITE.extension(one.name) for one in OWN if one.name != CORRECTION_REASON}


@pytest.mark.parametrize(
    ("path", "one", "said"),
    [
        ("CarePlan.activity.detail", {"url": f"{SITE.canonical}/x"}, "not published"),
        ("CarePlan", {"url": SITE.extension("helpers"), "valueUnsignedInt": 1}, "stands in"),
        ("CarePlan.activity.detail", {"url": SITE.extension("helpers")}, "0 values"),
        (
            "CarePlan.activity.detail",
            {"url": SITE.extension("helpers"), "valueString": "1"},
            "valueString",
        ),
        (
            "CarePlan.activity.detail",
            {"url": SITE.extension("accessory"), "extension": []},
            "0 of code",
        ),
    ],
)
def test_one_that_is_not_as_published_is_seen(path: str, one: Json, said: str) -> None:
    assert any(said in fault for fault in faults(path, one))


def test_a_reference_says_to_what_it_leads() -> None:
    elements = {
        each["id"]: each for each in DEFINED[SITE.extension("overrule")]["snapshot"]["element"]
    }
    assert elements["Extension.extension:by.value[x]"]["type"] == [
        {
            "code": "Reference",
            "targetProfile": ["http://hl7.org/fhir/StructureDefinition/Practitioner"],
        }
    ]


def test_a_coded_value_is_bound_to_our_codes() -> None:
    elements = {
        each["id"]: each for each in DEFINED[SITE.extension("accessory")]["differential"]["element"]
    }
    binding = elements["Extension.extension:code.value[x]"]["binding"]
    assert binding == {
        "strength": "required",
        "valueSet": f"{SITE.canonical}/ValueSet/accessory",
    }
