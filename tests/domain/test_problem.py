"""Does a problem carry what an interface needs to say?"""

import pytest

from service.domain import problem
from service.domain.problem import Fault, NotAllowed, Problem, Unavailable

KINDS = [
    each
    for each in vars(problem).values()
    if isinstance(each, type) and issubclass(each, Problem) and each is not Problem
]


def test_every_named_problem_is_there() -> None:
    assert {kind.__name__ for kind in KINDS} == {
        "Unreadable",
        "Refused",
        "NotFound",
        "Conflict",
        "KeyReused",
        "StaleVersion",
        "VersionMissing",
        "NotAllowed",
        "Unavailable",
    }


@pytest.mark.parametrize("kind", KINDS)
def test_a_problem_tells_its_detail(kind: type[Problem]) -> None:
    raised = kind("What is wrong.")
    assert raised.detail == str(raised) == "What is wrong."
    assert raised.faults == ()


def test_a_problem_carries_every_fault() -> None:
    faults = (Fault("/a", "a.wrong", "Mend a."), Fault("/b", "b.wrong", "Mend b."))
    assert problem.Refused("Two things.", faults).faults == faults


def test_a_credential_is_not_known_unless_it_is_said() -> None:
    assert NotAllowed("No.").known is False
    assert NotAllowed("Not this.", known=True).known is True


def test_what_is_not_available_says_when_to_try_again() -> None:
    assert Unavailable("Busy.").retry_after_s == 1
    assert Unavailable("Full.", retry_after_s=30).retry_after_s == 30
