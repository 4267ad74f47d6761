"""Are examples made by the real rules, the same each time?"""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from service.demo.scenario import here, read
from service.fhir.definitions.examples import answer_to, examples, profile_shown
from service.fhir.definitions.profiles import PROFILES
from service.fhir.encode import bytes_of
from service.fhir.resources import CarePlan, Provenance
from tests.fhir.answers import BARE, SITE
from tests.fhir.answers import answer_to as answered

SCREENS = [one.screen for one in read(here())]


FOUND = examples(SITE, SCREENS)
ROOT = Path(__file__).parents[3]
DOC = (ROOT / "docs" / "fhir-definitions.md").read_text(encoding="utf-8")


def test_there_is_one_of_every_profile_that_names_it() -> None:
    assert {profile_shown(name) for name in FOUND} == set(PROFILES)
    for name, one in FOUND.items():
        profile = profile_shown(name)
        assert SITE.profile(profile) in one.meta.profile
        assert type(one).__name__ == PROFILES[profile].type


def test_no_two_are_the_same_resource() -> None:
    assert len({(type(one).__name__, one.id) for one in FOUND.values()}) == len(FOUND)


def test_it_is_shown_what_comes_of_a_clinicians_choices_and_of_an_early_end() -> None:
    chosen, ended = FOUND["care-plan-overruled"], FOUND["care-plan-ended"]
    assert isinstance(chosen, CarePlan)
    assert isinstance(ended, CarePlan)
    assert (chosen.status, chosen.meta.version_id) == ("active", "3")
    less = [
        part.value_boolean
        for one in chosen.activity
        for each in one.detail.extension
        for part in each.extension
        if part.url == "lessSupported"
    ]
    assert less == [True, False]
    assert (ended.status, ended.meta.version_id) == ("revoked", "2")
    made = FOUND["provenance-overruled"], FOUND["provenance-ended"]
    codes = [one.activity.coding[0].code for one in made if isinstance(one, Provenance)]
    assert codes == ["overruled", "ended"]


def test_where_no_screen_can_be_overruled_both_ways_there_is_no_example_of_it() -> None:
    assert {profile_shown(name) for name in examples(SITE, SCREENS[:2])} == set(
        examples(SITE, SCREENS[:2])
    )


def test_they_are_the_same_each_time() -> None:
    first = {name: bytes_of(one) for name, one in FOUND.items()}
    assert first == {name: bytes_of(one) for name, one in examples(SITE, SCREENS).items()}


def test_without_screens_there_are_none() -> None:
    assert examples(SITE, []) == {}


def test_the_answer_is_the_one_that_a_screen_gets() -> None:
    made, real = answer_to(SITE, BARE, 1), answered(BARE)
    assert made.profile == real.profile
    assert [move.method for move in made.plan.moves] == [move.method for move in real.plan.moves]
    assert made.plan.screen_id == made.screen.id


def identifiers(value: Any) -> Iterator[str]:
    """Every system of identifiers that is ours, at any depth, without its room."""
    if isinstance(value, dict):
        for inner in value.values():
            yield from identifiers(inner)
    if isinstance(value, list):
        for inner in value:
            yield from identifiers(inner)
    if isinstance(value, str) and value.startswith(SITE.identifier_system("")):
        yield value.removeprefix(SITE.identifier_system(""))


def test_every_system_of_identifiers_is_told_of() -> None:
    shown = {name for one in FOUND.values() for name in identifiers(json.loads(bytes_of(one)))}
    code = "".join(
        path.read_text(encoding="utf-8") for path in (ROOT / "service" / "fhir").rglob("*.py")
    )
    written = set(re.findall(r'identifier_system\("([a-z-]+)"\)', code))
    assert {"plan", "goal"} < shown
    for name in shown | written:
        assert f"`{name}`" in DOC
