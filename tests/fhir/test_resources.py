"""Do the resources write their type first and hold no way to forbid by a modifier?"""

from typing import get_args

import msgspec
import pytest

from service.fhir import resources, standing_resources
from service.fhir.encode import bytes_of
from service.fhir.resources import ActivityDetail, AnyResource, Bundle
from service.fhir.structs import Meta, Resource


def test_the_type_of_a_resource_comes_first() -> None:
    assert bytes_of(Bundle(type="collection")).startswith(b'{"resourceType":"Bundle"')


def test_an_untouched_meta_is_not_written() -> None:
    assert bytes_of(Bundle(type="collection")) == b'{"resourceType":"Bundle","type":"collection"}'
    assert b"meta" in bytes_of(Bundle(type="collection", meta=Meta(version_id="1")))


KINDS = [kind for kind in get_args(AnyResource) if issubclass(kind, Resource)]


@pytest.mark.parametrize("kind", [*KINDS, Bundle], ids=lambda kind: kind.__name__)
def test_each_resource_writes_the_name_it_has_here(kind: type[Resource]) -> None:
    assert kind.__struct_config__.tag == kind.__name__
    assert kind.__struct_config__.frozen


def test_no_element_can_say_do_not_perform() -> None:
    names = {
        name
        for made in (*vars(resources).values(), *vars(standing_resources).values())
        if isinstance(made, type) and issubclass(made, msgspec.Struct)
        for name in made.__struct_encode_fields__
    }
    assert not names & {"doNotPerform", "modifierExtension", "reference_"}
    assert "reference" not in ActivityDetail.__struct_encode_fields__
