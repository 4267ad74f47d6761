"""Are health and the page open, the rule book guarded, and every part of it reachable?"""

from service.web.routes_rules import HEALTH, PAGES, RULES
from tests.web.world import World


def test_health_and_the_page_are_open_and_the_rules_are_not() -> None:
    assert all(one.open for one in (*HEALTH, *PAGES))
    assert not any(one.open for one in RULES)


def test_only_addresses_with_a_parameter_may_find_nothing() -> None:
    for one in (*RULES, *HEALTH, *PAGES):
        assert (404 in one.problems) == ("{" in one.path)


async def test_every_open_address_without_parameters_answers(running: World) -> None:
    for one in (*HEALTH, *PAGES):
        if "{" not in one.path:
            assert (await running.nobody.get(one.path)).status_code == 200
