"""Is every code of ours that leaves in its published system, in the same words?"""

import json
from collections.abc import Iterator
from typing import Any

import pytest

from service.demo.scenario import Sample, here
from service.demo.scenario import read as read_samples
from service.domain.axis import GRADES, UNKNOWN
from service.domain.problem import Refused
from service.domain.sense_rules import RULES, fault
from service.fhir.bundle import bundle_of
from service.fhir.definitions.code_systems import FINDING_CODES, FINDING_KINDS, ordinal
from service.fhir.definitions.examples import answer_to as example
from service.fhir.encode import bytes_of
from service.fhir.outcome import outcome_of
from service.fhir.validate import read_tree, validate
from service.fhir.validate_finding import Rule
from service.fhir.validate_ours import known_at
from tests.fhir.answers import BOOK, SITE, STATES
from tests.fhir.definitions.published import PLAIN, Json, of
from tests.fhir.many_screens import answers, dealt, drawn

SYSTEMS = {one["url"]: one for one in of("CodeSystem").values()}
DISPLAYS = {
    url: {concept["code"]: concept["display"] for concept in one["concept"]}
    for url, one in SYSTEMS.items()
}
OWN = f"{SITE.canonical}/"
SAMPLES = read_samples(here())
MANY = 250
EACH = 25
BOUND = (Rule.CODE_NOT_IN_SET, Rule.UNKNOWN_CODE)


def codings(value: Any) -> Iterator[Json]:
    """Every coding at any depth."""
    if isinstance(value, dict):
        if isinstance(value.get("system"), str) and "code" in value:
            yield value
        for inner in value.values():
            yield from codings(inner)
    if isinstance(value, list):
        for inner in value:
            yield from codings(inner)


def unlisted(value: Any) -> list[str]:
    """Codes of ours in ``value`` that are not published so."""
    found = []
    for one in codings(value):
        system, code = one["system"], one["code"]
        if not system.startswith(f"{OWN}CodeSystem/"):
            continue
        known = DISPLAYS.get(system, {})
        if code not in known or one.get("display", known[code]) != known[code]:
            found.append(f"{system} {code} {one.get('display')}")
    return found


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.name)
def test_every_code_of_a_sample_is_published_in_the_same_words(sample: Sample) -> None:
    bundle = json.loads(bytes_of(bundle_of(SITE, example(SITE, sample.screen, sample.number))))
    assert sum(1 for one in codings(bundle) if one["system"].startswith(OWN)) > 50
    assert unlisted(bundle) == []


def test_every_code_of_many_screens_is_published_and_where_it_stands_it_may() -> None:
    """By the published systems, and some by the value set that each element is bound to."""
    known, found, met = known_at(SITE), [], set()
    for number, answer in enumerate(answers(dealt(drawn(), MANY))):
        raw = bytes_of(bundle_of(SITE, answer))
        bundle = json.loads(raw)
        found += unlisted(bundle)
        met |= {(one["system"], one["code"]) for one in codings(bundle)}
        if number % EACH == 0:
            found += [one.text for one in validate(read_tree(raw), known) if one.rule in BOUND]
    assert found == []
    assert len([system for system, _ in met if system.startswith(OWN)]) > 300


@pytest.mark.parametrize("state", [name for name in STATES if name != "hostile"])
def test_every_code_of_every_state_of_a_plan_is_published(state: str) -> None:
    assert unlisted(json.loads(bytes_of(bundle_of(SITE, STATES[state]())))) == []


def test_every_code_in_the_definitions_is_published() -> None:
    assert unlisted(list(PLAIN.values())) == []


def test_every_fault_of_an_outcome_is_published() -> None:
    refused = Refused("No.", tuple(fault("/a", rule) for rule in RULES))
    outcome = json.loads(bytes_of(outcome_of(refused)))
    assert len(list(codings(outcome))) == len(RULES)
    assert unlisted(outcome) == []


@pytest.mark.parametrize(
    "coding",
    [
        {"system": f"{OWN}CodeSystem/method", "code": "unheard_of"},
        {"system": f"{OWN}CodeSystem/method", "code": "unaided", "display": "Other words"},
        {"system": f"{OWN}CodeSystem/unheard-of", "code": "a"},
    ],
)
def test_a_code_that_is_not_published_so_is_seen(coding: Json) -> None:
    assert len(unlisted({"code": {"coding": [coding]}})) == 1


def test_a_code_system_is_complete_and_says_so() -> None:
    for one in SYSTEMS.values():
        codes = [concept["code"] for concept in one["concept"]]
        assert one["content"] == "complete"
        assert one["caseSensitive"] is True
        assert one["version"] == BOOK.ref.version
        assert one["count"] == len(codes) == len(set(codes))


def test_a_rule_says_its_source_and_its_standing() -> None:
    for concept in of("CodeSystem")["rule"]["concept"]:
        told = {one["code"]: one["valueString"] for one in concept["property"]}
        assert told["source"] in BOOK.sources
        assert told["standing"] in ("published", "recalled", "practice", "default")
    declared = [one["code"] for one in of("CodeSystem")["rule"]["property"]]
    assert declared == ["source", "standing"]


def test_grades_have_their_place_for_standard_tools() -> None:
    for axis, grades in GRADES.items():
        concepts = of("CodeSystem")[f"grade-{axis.value}".replace("_", "-")]["concept"]
        places = {one["code"]: one["extension"][0]["valueDecimal"] for one in concepts}
        assert list(places) == [grade for grade in grades if grade != UNKNOWN]
        assert list(places.values()) == sorted(places.values())
    assert ordinal(None) == ()


def test_every_system_has_its_value_set_of_all_its_codes() -> None:
    sets = {one["url"]: one for one in of("ValueSet").values()}
    for url, one in SYSTEMS.items():
        (include,) = sets[one["valueSet"]]["compose"]["include"]
        assert include == {"system": url, "version": one["version"]}


def test_a_finding_is_named_by_a_code_of_one_value_set() -> None:
    included = of("ValueSet")[FINDING_CODES]["compose"]["include"]
    assert [one["system"].rpartition("/")[2] for one in included] == list(FINDING_KINDS)
