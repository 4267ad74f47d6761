"""Is a check in a rule file compiled as it is meant, and refused where it is not one form?"""

from decimal import Decimal
from typing import Any

import pytest

from service.domain.axis import Axis, Number
from service.domain.citation import Citation, Standing
from service.domain.condition import Condition
from service.domain.requirement import Absent, AnyOf, Limit, Need
from service.rules.compile import Compiler, RuleFault, tenths
from service.rules.files import Check, Parameter, RequirementTable

CITED = Citation("somewhere", Standing.DEFAULT)


def parameter(value: str) -> Parameter:
    return Parameter(
        value=Decimal(value),
        unit="kg",
        source="somewhere",
        standing=Standing.DEFAULT,
        what="A value for a test",
    )


PARAMETERS = {"half": parameter("0.5"), "whole": parameter("77"), "fine": parameter("0.25")}


def compiled(check: Check) -> Any:
    return Compiler("owner", PARAMETERS).check(check, "Because", CITED)


def test_a_parameter_is_held_in_whole_tenths() -> None:
    assert tenths("half", PARAMETERS) == 5
    assert tenths("whole", PARAMETERS) == 770


def test_a_parameter_finer_than_a_tenth_is_refused() -> None:
    with pytest.raises(RuleFault, match="`fine` is finer than a tenth"):
        tenths("fine", PARAMETERS)


def test_a_parameter_that_is_not_there_is_refused() -> None:
    with pytest.raises(RuleFault, match="no parameter is called `gone`"):
        tenths("gone", PARAMETERS)


def test_a_need_becomes_a_need() -> None:
    assert compiled(Check(need=Axis.ARMS, at_least="one")) == Need(
        "owner.arms", Axis.ARMS, "one", "Because", CITED
    )


def test_an_absent_becomes_an_absent() -> None:
    assert compiled(Check(absent=Condition.STOMA)) == Absent(
        "owner.no_stoma", Condition.STOMA, "Because", CITED
    )


@pytest.mark.parametrize("comparison", ["at_least", "at_most", "below"])
def test_a_number_becomes_a_limit_that_names_its_parameter(comparison: str) -> None:
    given: dict[str, Any] = {"number": Number.MASS_KG, comparison: "whole"}
    assert compiled(Check(**given)) == Limit(
        "owner.mass_kg", Number.MASS_KG, comparison, "whole", 770, "Because", CITED
    )


def test_several_become_any_of_them() -> None:
    parts = (Check(absent=Condition.STOMA), Check(need=Axis.LEAN, at_least="able"))
    assert compiled(Check(any=parts)) == AnyOf(
        "owner.any", tuple(compiled(part) for part in parts), "Because", CITED
    )


def test_a_table_carries_its_own_reason_and_citation() -> None:
    table = RequirementTable(
        absent=Condition.STOMA, why="Not over a stoma", source="elsewhere", standing=CITED.standing
    )
    made = Compiler("owner", PARAMETERS).table(table)
    assert (made.why, made.citation) == (
        "Not over a stoma",
        Citation("elsewhere", Standing.DEFAULT),
    )


@pytest.mark.parametrize(
    ("check", "fault"),
    [
        ({}, "a check needs one of"),
        ({"at_least": "one"}, "a check needs one of"),
        ({"need": Axis.ARMS}, "`arms` has no grade ``"),
        ({"need": Axis.ARMS, "at_least": "three"}, "`arms` has no grade `three`"),
        ({"need": Axis.ARMS, "at_least": "unknown"}, "`arms` has no grade `unknown`"),
        ({"need": Axis.ARMS, "at_least": "one", "at_most": "both"}, "`at_most` does not belong"),
        ({"need": Axis.ARMS, "at_least": "one", "absent": "stoma"}, "`absent` does not belong"),
        ({"absent": Condition.STOMA, "below": "whole"}, "`below` does not belong"),
        ({"absent": Condition.STOMA, "number": Number.MASS_KG}, "`number` does not belong"),
        ({"number": Number.MASS_KG}, "exactly one of: at_least, at_most, below"),
        (
            {"number": Number.MASS_KG, "at_least": "half", "below": "whole"},
            "exactly one of: at_least, at_most, below",
        ),
        ({"number": Number.MASS_KG, "below": "fine"}, "finer than a tenth"),
        ({"number": Number.MASS_KG, "below": "gone"}, "no parameter is called `gone`"),
        ({"any": (Check(),)}, "a check needs one of"),
        ({"any": (Check(absent=Condition.STOMA),), "need": Axis.ARMS}, "`need` does not belong"),
    ],
)
def test_a_check_that_is_not_exactly_one_form_is_refused(check: dict[str, Any], fault: str) -> None:
    with pytest.raises(RuleFault, match=fault):
        compiled(Check(**check))


def test_any_within_any_is_refused() -> None:
    inner = Check(any=(Check(absent=Condition.STOMA),))
    with pytest.raises(RuleFault, match="a check needs one of"):
        compiled(Check(any=(inner,)))
