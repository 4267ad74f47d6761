"""Is a resource held to the elements of its R4 type, and to what we can keep?"""

from decimal import Decimal
from typing import Any

import pytest

from service.fhir.read_elements import IGNORED_EXTENSIONS, element_faults
from tests.fhir.responses import Raw, full

IGNORED = min(IGNORED_EXTENSIONS)


def faults(raw: Any, kind: str = "QuestionnaireResponse", *known: str) -> list[tuple[str, str]]:
    found = element_faults(raw, kind, "", frozenset(known))
    return [(fault.path, fault.rule) for fault in found]


def response(**more: Any) -> Raw:
    return {"resourceType": "QuestionnaireResponse", "status": "completed", **more}


def test_a_whole_response_and_rich_elements_are_good() -> None:
    assert faults(full()) == []
    rich = response(
        language="en",
        identifier={
            "use": "official",
            "type": {"coding": [{"system": "urn:x", "code": "a", "userSelected": True}]},
            "period": {"start": "2026"},
            "assigner": {"display": "x"},
        },
        meta={"tag": [{"code": "form-tool"}]},
        source={"reference": "Practitioner/1"},
        item=[{"linkId": "a", "id": "1", "answer": [{"valueDecimal": Decimal("1.50")}]}],
    )
    assert faults(rich) == []


@pytest.mark.parametrize(
    ("raw", "expected"),
    [
        (response(unheard=1), [("/unheard", "shape.unknown_field")]),
        (response(**{"Mrs Nightshade": 1}), [("", "shape.unknown_field")]),
        ({"resourceType": "QuestionnaireResponse"}, [("/status", "shape.missing")]),
        (response(status=""), [("/status", "shape.type")]),
        (response(status=None), [("/status", "shape.type")]),
        (response(status="a  b"), [("/status", "shape.type")]),
        (response(item={}), [("/item", "shape.type")]),
        (response(item=[]), [("/item", "shape.empty")]),
        (response(item=[{}]), [("/item/0", "shape.empty"), ("/item/0/linkId", "shape.missing")]),
        (response(item=["a"]), [("/item/0", "shape.type")]),
        (response(subject=[]), [("/subject", "shape.type")]),
        (response(subject={}), [("/subject", "shape.empty")]),
        (response(authored="4 March"), [("/authored", "shape.type")]),
        (response(meta={"versionId": 1}), [("/meta/versionId", "shape.type")]),
        (response(_unheard={}), [("/_unheard", "shape.unknown_field")]),
    ],
)
def test_what_the_type_does_not_allow_is_told_in_its_place(raw: Raw, expected: Any) -> None:
    assert faults(raw) == expected


@pytest.mark.parametrize(
    ("value", "good"),
    [
        ({"valueInteger": 3}, True),
        ({"valueInteger": Decimal("3.0")}, False),
        ({"valueInteger": True}, False),
        ({"valueDecimal": Decimal("Infinity")}, False),
        ({"valueDecimal": 3}, True),
        ({"valueBoolean": 1}, False),
        ({"valueDate": "1948-03"}, True),
        ({"valueDate": "1948-02-30"}, False),
        ({"valueDateTime": "2025-02-29T08:00:00Z"}, False),
        ({"valueDateTime": "2024-02-29T08:00:00Z"}, True),
        ({"valueDate": "1948-03-02T00:00:00Z"}, False),
        ({"valueUri": "a b"}, False),
        ({"valueQuantity": {"value": "3"}}, False),
        ({"valueAttachment": {"size": -1}}, False),
    ],
)
def test_primitives_have_their_form(value: Raw, good: bool) -> None:  # noqa: FBT001
    found = faults(response(item=[{"linkId": "a", "answer": [value]}]))
    assert (found == []) is good


def test_positive_numbers_and_base64_have_theirs() -> None:
    assert faults({"rank": 0}, "ContactPoint") == [("/rank", "shape.type")]
    assert faults({"rank": 1}, "ContactPoint") == []
    assert faults({"contentType": "a/b", "data": "aGk="}, "Attachment") == []
    assert faults({"contentType": "a/b", "data": "a" + " " * 5000 + "!"}, "Attachment") == [
        ("/data", "shape.type")
    ]


def test_two_types_of_one_value_are_a_fault() -> None:
    answer = {"valueString": "a", "valueInteger": 1}
    raw = response(item=[{"linkId": "a", "answer": [answer]}])
    assert faults(raw) == [("/item/0/answer/0", "shape.choice")]


def test_extensions_are_refused_unless_known() -> None:
    strange, known = {"url": "urn:x", "valueString": "a"}, {"url": IGNORED, "valueString": "a"}
    assert faults(response(extension=[known, strange])) == [("/extension/1", "form.extension")]
    assert faults(response(extension=[strange]), "QuestionnaireResponse", "urn:x") == []
    inner = response(item=[{"linkId": "a", "extension": [strange]}])
    assert faults(inner, "QuestionnaireResponse", "urn:x") == [
        ("/item/0/extension/0", "form.extension")
    ]
    odds: tuple[Any, ...] = ({}, [], ["a"], [{"valueString": "a"}], [{"url": ["urn:x"]}])
    for odd in odds:
        assert len(faults(response(extension=odd))) == 1


def test_an_extension_beside_a_primitive_is_one_too() -> None:
    strange = {"extension": [{"url": "urn:x", "valueString": "a"}]}
    assert faults(response(_status=strange)) == [("/_status/extension/0", "form.extension")]
    named = {"given": ["a", "b"], "_given": [None, strange]}
    assert faults(named, "HumanName") == [("/_given/extension/0", "form.extension")]
    assert faults(response(_status={"id": "1"})) == []
    assert faults(response(_status=7)) == [("/_status", "shape.type")]


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ({"_status": {"modifierExtension": [{"url": "urn:x"}]}},
         [("/_status/modifierExtension", "form.modifier")]),
        ({"_status": {"value": "amended"}}, [("/_status/value", "shape.unknown_field")]),
        ({"_status": {}}, [("/_status", "shape.empty")]),
        ({"_status": None}, [("/_status", "shape.type")]),
        ({"_status": [{"id": "1"}]}, [("/_status", "shape.type")]),
        ({"meta": {"_profile": {"id": "1"}}}, [("/meta/_profile", "shape.type")]),
        ({"meta": {"_profile": [None, {"id": "1"}]}}, []),
        ({"_item": [{"id": "1"}]}, [("/_item", "shape.unknown_field")]),
    ],
)  # fmt: skip
def test_nothing_but_an_id_and_extensions_stands_beside_a_primitive(
    more: Raw, expected: Any
) -> None:
    assert faults(response(**more)) == expected


@pytest.mark.parametrize("space", ["\u00a0", "\u2009", "\u3000"])
def test_a_space_that_is_none_in_xml_is_a_letter_of_a_text(space: str) -> None:
    answer = {"valueString": f"harbour{space}ward"}
    assert faults(response(item=[{"linkId": "a", "answer": [answer]}])) == []


def test_modifier_extensions_and_contained_resources_are_always_refused() -> None:
    known = [{"url": IGNORED}]
    raw = response(modifierExtension=known, item=[{"linkId": "a", "modifierExtension": known}])
    assert faults(raw) == [
        ("/modifierExtension", "form.modifier"),
        ("/item/0/modifierExtension", "form.modifier"),
    ]
    assert faults(response(contained=[])) == [("/contained", "form.contained")]


@pytest.mark.parametrize("kind", ["QuestionnaireResponse", "Patient", "Bundle"])
def test_rules_labels_and_parts_are_refused_in_any_resource(kind: str) -> None:
    told = {
        "implicitRules": "urn:x",
        "meta": {"security": [{"code": "R"}], "tag": [{"code": "a"}, {"code": "SUBSETTED"}]},
    }
    found = [fault for fault in faults(told, kind) if fault[1] != "shape.missing"]
    assert found == [
        ("/implicitRules", "form.not_kept"),
        ("/meta/security", "form.not_kept"),
        ("/meta/tag/1", "form.part"),
    ]


def test_a_backbone_that_refers_to_itself_is_walked_to_the_end() -> None:
    raw = response(item=[{"linkId": "a", "item": [{"linkId": "b", "item": [{"linkId": 1}]}]}])
    assert faults(raw) == [("/item/0/item/0/item/0/linkId", "shape.type")]
    answer = {"valueBoolean": True, "item": [{"linkId": 1}]}
    nested = response(item=[{"linkId": "a", "answer": [answer]}])
    assert faults(nested) == [("/item/0/answer/0/item/0/linkId", "shape.type")]
