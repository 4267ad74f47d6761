"""Does a refusal say what is wrong, and one that passes when to ask again?"""

import pytest

from service.domain.problem import Problem
from service.web import refusals
from service.web.refusals import TooMany


@pytest.mark.parametrize(
    "kind",
    [one for one in vars(refusals).values() if isinstance(one, type) and one is not Problem],
)
def test_each_is_a_problem_whose_words_are_shown(kind: type[Problem]) -> None:
    refused = TooMany("Send less.", 3) if kind is TooMany else kind("Send less.")
    assert isinstance(refused, Problem)
    assert (refused.detail, refused.faults) == ("Send less.", ())


def test_too_many_says_when_to_ask_again() -> None:
    assert TooMany("Send less.", 7).retry_after_s == 7
