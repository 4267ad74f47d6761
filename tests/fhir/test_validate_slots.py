"""Are the names that an object may have those of its type?"""

from service.fhir.validate_slots import Place, names_at, type_place

OBSERVATION = names_at(type_place("Observation"))


def test_a_choice_has_a_name_for_each_type() -> None:
    slot = OBSERVATION.slots["valueQuantity"]
    assert (slot.name, slot.type, slot.inside) == ("value", "Quantity", type_place("Quantity"))
    value = next(each for each in OBSERVATION.elements if each.name == "value")
    assert "valueDateTime" in value.names and "value" not in OBSERVATION.slots


def test_the_id_of_a_resource_is_an_id_and_that_of_an_element_a_string() -> None:
    assert OBSERVATION.slots["id"].type == "id"
    assert names_at(type_place("Quantity")).slots["id"].type == "string"


def test_what_is_nested_is_told_in_the_type_itself() -> None:
    component = OBSERVATION.slots["component"]
    assert component.repeats and component.inside == Place("Observation", "Observation.component")
    ranges = names_at(Place("Observation", "Observation.component")).slots["referenceRange"]
    assert ranges.inside == Place("Observation", "Observation.referenceRange")


def test_a_profile_of_a_data_type_narrows_it() -> None:
    low = names_at(Place("Observation", "Observation.referenceRange")).slots["low"]
    assert low.inside == Place("SimpleQuantity", "Quantity")
    elements = {each.name: each for each in names_at(Place("SimpleQuantity", "Quantity")).elements}
    assert elements["comparator"].most == 0
    assert elements["extension"].most is None


def test_a_resource_inside_has_its_own_names() -> None:
    contained = OBSERVATION.slots["contained"]
    assert contained.inside is None and not contained.primitive
