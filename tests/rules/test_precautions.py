"""Does every precaution stand for a condition, with the places that order it?"""

import pytest

from service.domain.condition import Condition
from service.domain.orders import Precaution
from service.rules.load import load_book
from service.rules.precautions import ordered
from tests.rules.screens import orders, screen

BOOK = load_book()
OTHER_WORDS = {
    Precaution.HIP: Condition.HIP_PRECAUTION,
    Precaution.KNEE: Condition.KNEE_PRECAUTION,
    Precaution.STERNAL: Condition.STERNAL_PRECAUTION,
    Precaution.SPINE_STABLE: Condition.SPINE_STABLE_PRECAUTION,
    Precaution.SPINE_UNSTABLE: Condition.UNSTABLE_SPINE,
}
KINDS = ("shoulder_injury", "contracture", "amputation")


def condition_for(precaution: Precaution) -> Condition:
    """The same word, or the kind of what is ordered for one limb or joint."""
    kind = next((kind for kind in KINDS if precaution.startswith(kind)), str(precaution))
    return OTHER_WORDS.get(precaution) or Condition(kind)


@pytest.mark.parametrize("precaution", Precaution)
def test_each_precaution_is_a_condition_of_the_same_meaning(precaution: Precaution) -> None:
    found = ordered(BOOK, orders(precaution))
    assert list(found) == [condition_for(precaution)]
    ((finding,),) = found.values()
    assert (finding.path, finding.seen) == ("/orders/precautions/0", precaution)


def test_two_precautions_of_one_kind_are_one_condition_with_two_places() -> None:
    found = ordered(BOOK, orders(Precaution.CONTRACTURE_HIP, Precaution.CONTRACTURE_ANKLE))
    assert {name: [each.path for each in places] for name, places in found.items()} == {
        Condition.CONTRACTURE: ["/orders/precautions/0", "/orders/precautions/1"]
    }


def test_no_precaution_is_no_condition() -> None:
    assert ordered(BOOK, screen()) == {}
