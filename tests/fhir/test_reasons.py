"""Do reasons against a method read as such, each coded by its rule?"""

import pytest

from service.domain.citation import Standing
from service.domain.reason import Reason, Status
from service.fhir.reasons import evidence, reason_code, reason_words
from tests.fhir.answers import SITE

MET = Reason(
    "bed_to_chair.arms", "arms", "one_side", "both_sides", Status.MET, "Arms hold.", "s",
    Standing.PRACTICE,
)  # fmt: skip


def reason(status: Status, about: str = "arms") -> Reason:
    return Reason(MET.rule, about, MET.seen, MET.required, status, MET.why, "s", Standing.PRACTICE)


def test_what_is_met_is_said_plainly() -> None:
    assert reason_words(MET) == "Arms hold. Seen: one side. Required: both sides."


@pytest.mark.parametrize(
    ("status", "begin"),
    [
        (Status.UNMET, "Not met: "),
        (Status.UNKNOWN, "Not known: "),
        (Status.FORBIDDEN, "Against it: "),
        (Status.MISSING, "Missing: "),
    ],
)
def test_what_stands_against_begins_with_that(status: Status, begin: str) -> None:
    assert reason_words(reason(status)) == begin + reason_words(MET)
    assert reason_code(SITE, reason(status)).text == begin + reason_words(MET)


def test_it_is_coded_by_its_rule() -> None:
    (coding,) = reason_code(SITE, MET).coding
    assert coding.system == f"{SITE.canonical}/CodeSystem/rule"
    assert coding.code == MET.rule


def test_the_findings_that_it_is_about_are_named_once_and_nothing_else_is() -> None:
    told = [MET, reason(Status.UNMET), reason(Status.MISSING, "trained_helpers")]
    assert [one.reference for one in evidence("a", told)] == ["Observation/a-axis-arms"]
