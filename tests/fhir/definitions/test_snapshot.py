"""Is a snapshot the base of the standard with the differential in it, and nothing else?"""

import pytest
from msgspec.structs import replace

from service.fhir.base_facts import base_elements
from service.fhir.definitions.profile_elements import (
    ElementBinding,
    ElementDefinition,
    ElementType,
    Invariant,
)
from service.fhir.definitions.snapshot import Unplaced, merged, snapshot_of


def at(element_id: str, **more: object) -> ElementDefinition:
    path = ".".join([part.partition(":")[0] for part in element_id.split(".")])
    return replace(ElementDefinition(id=element_id, path=path), **more)


def ids(elements: list[ElementDefinition]) -> list[str]:
    return [one.id for one in elements]


def test_without_a_differential_it_is_the_base() -> None:
    whole = snapshot_of("CarePlan", [])
    assert ids(whole) == [one.path for one in base_elements("CarePlan")]
    for one, known in zip(whole, base_elements("CarePlan"), strict=True):
        assert (one.min, one.max) == (known.min, known.max)
        assert [kind.code for kind in one.type] == [kind.code for kind in known.types]
        assert [rule.key for rule in one.constraint] == list(known.constraints)
        assert one.base is not None


def test_every_element_says_what_a_snapshot_must_say() -> None:
    for one in snapshot_of("Observation", []):
        assert one.short and one.definition
        assert one.min is not None and one.max is not None
        assert one.base is not None
        assert (one.is_modifier is None) is (one.is_modifier_reason is None)
        for rule in one.constraint:
            assert rule.human and rule.expression and rule.source
        if one.binding is not None:
            assert one.binding.value_set or one.binding.description


def test_a_change_lands_on_its_element_and_the_base_is_kept_beside_it() -> None:
    whole = snapshot_of("Observation", [at("Observation.subject", min=1, must_support=True)])
    subject = next(one for one in whole if one.id == "Observation.subject")
    assert (subject.min, subject.max, subject.must_support) == (1, "1", True)
    assert subject.base is not None
    assert subject.base.min == 0
    assert subject.type[0].target_profile


def test_a_part_of_a_data_type_brings_all_its_parts_behind_the_element() -> None:
    whole = snapshot_of("Flag", [at("Flag.subject.identifier", min=1)])
    place = ids(whole).index("Flag.subject")
    parts = [one.path.rpartition(".")[2] for one in base_elements("Reference")[1:]]
    found = whole[place + 1 : place + 1 + len(parts)]
    assert ids(found) == [f"Flag.subject.{part}" for part in parts]
    (identifier,) = [one for one in found if one.id == "Flag.subject.identifier"]
    assert identifier.min == 1
    assert identifier.base is not None
    assert identifier.base.path == "Reference.identifier"


def test_slices_stand_behind_the_element_in_their_order_with_their_parts() -> None:
    whole = snapshot_of(
        "Extension",
        [
            at("Extension.extension:one", min=1),
            at("Extension.extension:one.url", fixed_uri="one"),
            at("Extension.extension:two", min=1),
        ],
    )
    order = [each for each in ids(whole) if not each.startswith("Extension.extension:one.")]
    assert order == [
        "Extension",
        "Extension.id",
        "Extension.extension",
        "Extension.extension:one",
        "Extension.extension:two",
        "Extension.url",
        "Extension.value[x]",
    ]
    one = next(each for each in whole if each.id == "Extension.extension:one")
    assert (one.path, one.slice_name) == ("Extension.extension", "one")


def test_a_slice_that_is_not_asked_for_may_be_missing() -> None:
    whole = snapshot_of("Extension", [at("Extension.extension:one", slice_name="one")])
    one = next(each for each in whole if each.id == "Extension.extension:one")
    assert (one.min, one.max) == (0, "*")


@pytest.mark.parametrize(
    "element_id",
    [
        "Flag.unheardOf",
        "Flag.subject.unheardOf",
        "Flag.unheard.of",
        "Flag.unheard:of",
        "Observation.value[x].unit",
    ],
)
def test_what_has_no_place_is_refused(element_id: str) -> None:
    with pytest.raises(Unplaced):
        snapshot_of(element_id.partition(".")[0], [at(element_id)])


def test_invariants_add_up_and_are_not_doubled() -> None:
    rule = Invariant(key="a", severity="error", human="A", expression="true")
    base = at("Flag", constraint=(rule,))
    more = replace(rule, key="b")
    assert merged(base, at("Flag", constraint=(rule, more))).constraint == (rule, more)


def test_only_what_is_said_is_changed() -> None:
    base = at("Flag.code", min=0, max="1", type=(ElementType(code="CodeableConcept"),))
    binding = ElementBinding(strength="required", value_set="x")
    changed = merged(base, at("Flag.code", min=1, binding=binding))
    assert (changed.min, changed.max, changed.type) == (1, "1", base.type)
    assert changed.binding is binding
