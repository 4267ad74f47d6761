"""Does every parameter part the screens exactly where the design says?"""

import pytest

from service.rules.load import load_book
from tests.published.edge_table import EDGES, ELSEWHERE
from tests.published.edges import Edge, seen


@pytest.mark.parametrize(
    "edge", [pytest.param(each, id=f"{i}-{each.parameter}") for i, each in enumerate(EDGES)]
)
def test_each_side_of_an_edge_is_told_apart(edge: Edge) -> None:
    assert seen(load_book(), edge) == edge.shows


def test_every_parameter_has_an_edge() -> None:
    parameters = set(load_book().parameters)
    assert {each.parameter for each in EDGES} | ELSEWHERE == parameters
