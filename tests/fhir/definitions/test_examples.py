"""Are examples made by the real rules, the same each time?"""

from service.demo.scenario import here, read
from service.fhir.definitions.examples import answer_to, examples
from service.fhir.definitions.profiles import PROFILES
from service.fhir.encode import bytes_of
from tests.fhir.answers import BARE, SITE
from tests.fhir.answers import answer_to as answered

SCREENS = [one.screen for one in read(here())]


def test_there_is_one_of_every_profile_that_names_it() -> None:
    found = examples(SITE, SCREENS)
    assert set(found) == set(PROFILES)
    for name, one in found.items():
        assert SITE.profile(name) in one.meta.profile
        assert type(one).__name__ == PROFILES[name].type


def test_they_are_the_same_each_time() -> None:
    first = {name: bytes_of(one) for name, one in examples(SITE, SCREENS).items()}
    assert first == {name: bytes_of(one) for name, one in examples(SITE, SCREENS).items()}


def test_without_screens_there_are_none() -> None:
    assert examples(SITE, []) == {}


def test_the_answer_is_the_one_that_a_screen_gets() -> None:
    made, real = answer_to(SITE, BARE, 1), answered(BARE)
    assert made.profile == real.profile
    assert [move.method for move in made.plan.moves] == [move.method for move in real.plan.moves]
    assert made.plan.screen_id == made.screen.id
