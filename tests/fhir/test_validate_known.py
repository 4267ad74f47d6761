"""Does the validator take from our definitions what they define?"""

from typing import Any

from service.fhir.validate_known import NOTHING, known_from

SYSTEM: dict[str, Any] = {
    "resourceType": "CodeSystem", "url": "s", "content": "complete",
    "concept": [{"code": "a", "concept": [{"code": "b"}]}],
}  # fmt: skip
PROFILE: dict[str, Any] = {
    "resourceType": "StructureDefinition", "url": "p", "type": "Observation",
    "snapshot": {"element": [{"id": "Observation", "path": "Observation"}]},
}  # fmt: skip


def value_set(url: str, *include: Any, **more: Any) -> dict[str, Any]:
    return {"resourceType": "ValueSet", "url": url, "compose": {"include": include, **more}}


def test_all_codes_of_a_complete_system_are_known() -> None:
    known = known_from([SYSTEM, {**SYSTEM, "url": "t", "content": "fragment"}])
    assert known.systems == {"s": frozenset({"a", "b"})}


def test_a_set_that_is_a_list_is_known() -> None:
    known = known_from(
        [
            SYSTEM,
            value_set("whole", {"system": "s"}),
            value_set("listed", {"system": "t", "concept": [{"code": "x"}]}, {"system": "s"}),
            value_set("filtered", {"system": "s", "filter": [{}]}),
            value_set("other", {"system": "t"}),
            value_set("nested", {"valueSet": ["whole"]}),
            value_set("less", {"system": "s"}, exclude=[{"system": "s"}]),
        ]
    )
    assert set(known.value_sets) == {"whole", "listed"}
    assert known.codes("listed|1.0") == {"t": frozenset({"x"}), "s": frozenset({"a", "b"})}
    assert known.codes("filtered") is None


def test_the_sets_of_the_standard_are_known_too() -> None:
    codes = NOTHING.codes("http://hl7.org/fhir/ValueSet/observation-status|4.0.1")
    assert codes is not None and "final" in codes["http://hl7.org/fhir/observation-status"]


def test_a_profile_with_a_snapshot_is_known() -> None:
    known = known_from([PROFILE, {**PROFILE, "url": "q", "snapshot": None, "x": 1}][:1])
    assert known.profiles["p"].type == "Observation"
    without = {name: value for name, value in PROFILE.items() if name != "snapshot"}
    assert known_from([without]).profiles == {}
