"""Is every worked example in the methods' files answered as it says?"""

from decimal import Decimal

import pytest

from service.domain.context import Context, DeviceAtHand
from service.rules.book import Method
from service.rules.evaluate import Judge
from service.rules.files import ExampleTable
from service.rules.load import load_book
from service.rules.means import helper_count
from service.rules.select import select
from tests.rules.profiles import profile

BOOK = load_book()
EXAMPLES = [
    pytest.param(example, id=f"{method.id}: {example.says}")
    for method in BOOK.methods.values()
    for example in method.examples
]


def place_of(example: ExampleTable) -> Context:
    if example.devices is None:
        return Context()
    carries = Decimal(500)
    return Context(
        devices=[
            DeviceAtHand(device_class=each, safe_working_load_kg=carries)
            for each in example.devices
        ]
    )


@pytest.mark.parametrize("example", EXAMPLES)
def test_an_example_is_answered_by_its_method_and_helpers(example: ExampleTable) -> None:
    judge = Judge(profile(example.grades, example.numbers, *example.conditions))
    chosen = select(BOOK, BOOK.moves[example.move], judge, place_of(example))
    helpers, _ = helper_count(chosen.option, judge)
    assert (chosen.option.method.id, helpers) == (example.method, example.helpers)


@pytest.mark.parametrize("method", BOOK.methods.values(), ids=lambda method: method.id)
def test_every_method_has_an_example_of_itself(method: Method) -> None:
    assert method.examples
    assert {example.method for example in method.examples} == {method.id}
