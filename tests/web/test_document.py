"""Is the document exact: every route, every field, every limit, and nothing more?"""

import json
from datetime import UTC, datetime
from typing import Any

import jsonschema_rs
import msgspec
import pytest
from hypothesis import Phase, given, settings

from service.domain.screen import Screen
from service.domain.sense import faults_of
from service.domain.sense_rules import RULES
from service.domain.shape import read
from service.web.bodies import CorrectedScreen
from service.web.document import document
from service.web.routes import OPERATIONS
from tests.strategies import screen_json

DOCUMENT = json.loads(msgspec.json.encode(document()))
SCHEMAS = DOCUMENT["components"]["schemas"]
EXAMPLES = DOCUMENT["paths"]["/v1/screens"]["post"]["requestBody"]["content"]["application/json"]


def validator(name: str) -> Any:
    schema = {"$ref": f"#/components/schemas/{name}", "components": DOCUMENT["components"]}
    return jsonschema_rs.validator_for(schema, validate_formats=True)


def values() -> list[Any]:
    return [example["value"] for example in EXAMPLES["examples"].values()]


Filled = dict[str, set[str]]
"""Per component of the schema, the fields that some example fills."""


def fill(schema: dict[str, Any], value: Any, filled: Filled) -> None:
    """Note which fields of which component ``value`` fills."""
    for arm in schema.get("anyOf", [schema]):
        name = arm.get("$ref", "").rsplit("/", 1)[-1]
        inner = SCHEMAS.get(name, arm)
        if isinstance(value, dict) and "properties" in inner:
            for field, part in value.items():
                if part is not None:
                    filled.setdefault(name, set()).add(field)
                    fill(inner["properties"][field], part, filled)
        elif isinstance(value, list) and "items" in inner:
            for part in value:
                fill(inner["items"], part, filled)


def unfilled(found: list[Any]) -> set[str]:
    """Fields of the screen, and of all it is made of, that no value in ``found`` fills."""
    filled: Filled = {}
    for value in found:
        fill({"$ref": "#/components/schemas/Screen"}, value, filled)
    return {
        f"{name}.{field}"
        for name in made_of(["Screen"])
        for field in SCHEMAS[name]["properties"]
        if field not in filled.get(name, set())
    }


def made_of(names: list[str]) -> set[str]:
    """The components with fields that those named are made of."""
    seen: set[str] = set()
    rest = list(names)
    while rest:
        name = rest.pop()
        if name not in seen and "properties" in SCHEMAS[name]:
            seen.add(name)
            written = json.dumps(SCHEMAS[name])
            rest.extend(other for other in SCHEMAS if f'schemas/{other}"' in written)
    return seen


def test_the_examples_exercise_every_field_of_the_screen() -> None:
    assert unfilled(values()) == set()


def test_a_field_that_no_example_fills_is_found() -> None:
    assert unfilled(values()[:1]) == {
        "Subject.age_years",
        "Context.on_the_floor",
        "OnTheFloor.injury",
        "OnTheFloor.gets_up_alone",
    }


@pytest.mark.parametrize("name", EXAMPLES["examples"])
def test_each_example_fits_the_schema_and_makes_sense(name: str) -> None:
    value = EXAMPLES["examples"][name]["value"]
    validator("Screen").validate(value)
    one = read(json.dumps(value).encode(), Screen)
    assert faults_of(one, datetime.now(UTC)) == ()


def test_the_example_of_a_correction_can_be_read() -> None:
    content = DOCUMENT["paths"]["/v1/screens/{screen_id}"]["put"]["requestBody"]["content"]
    (example,) = content["application/json"]["examples"].values()
    assert read(json.dumps(example["value"]).encode(), CorrectedScreen).correction_reason


@settings(max_examples=25, phases=[Phase.explicit, Phase.generate])
@given(screen_json())
def test_whatever_is_a_screen_fits_the_schema(body: bytes) -> None:
    validator("Screen").validate(json.loads(body))


def test_whatever_is_sent_may_hold_known_fields_only() -> None:
    sent = made_of(["Screen", "CorrectedScreen", "WithdrawalReason", "MergeInto", "Identifier"])
    assert len(sent) > 30
    assert all(SCHEMAS[name]["additionalProperties"] is False for name in sent)


def test_a_decimal_is_a_number_with_its_limits() -> None:
    (mass, null) = SCHEMAS["Subject"]["properties"]["mass_kg"]["anyOf"]
    assert (mass["type"], mass["minimum"], mass["maximum"]) == ("number", 20, 500)
    assert "6 decimals" in mass["description"]
    assert null == {"type": "null"}
    assert '"decimal"' not in json.dumps(DOCUMENT)


def test_zero_as_a_lower_limit_is_not_lost() -> None:
    assert SCHEMAS["Attempt"]["properties"]["lift_kg"]["anyOf"][0]["minimum"] == 0


def test_every_rule_of_sense_is_described() -> None:
    text = DOCUMENT["paths"]["/v1/screens"]["post"]["description"]
    assert all(f"`{rule}`" in text for rule in RULES)


def test_every_reference_leads_somewhere() -> None:
    written = json.dumps(DOCUMENT)
    for part in written.split('"$ref": "#/')[1:]:
        place: Any = DOCUMENT
        for step in part.split('"', 1)[0].split("/"):
            place = place[step]


def test_nothing_in_the_document_breaks_its_lines_or_names_another_host() -> None:
    assert all("``" not in str(schema.get("description")) for schema in SCHEMAS.values())
    assert "http://" not in json.dumps(DOCUMENT)


def test_every_guarded_operation_tells_which_scopes_it_needs() -> None:
    for one in OPERATIONS:
        told = DOCUMENT["paths"][one.path][one.method.lower()]
        if one.open:
            assert told["security"] == []
        elif one.needs:
            scopes = [f"system/{need}" for need in one.needs]
            assert told["security"] == [{"bearer": scopes}, {"key": scopes}]
            assert all(f"`{scope}`" in told["description"] for scope in scopes)
        else:
            assert "security" not in told  # any good credential will do
    assert DOCUMENT["security"] == [{"bearer": []}, {"key": []}]
    assert DOCUMENT["components"]["securitySchemes"].keys() == {"bearer", "key"}
