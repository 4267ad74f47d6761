"""How does a check in a rule file become a requirement that can be evaluated?"""

from decimal import Decimal

from service.domain.axis import GRADES, Number
from service.domain.citation import Citation
from service.domain.requirement import Absent, AnyOf, Limit, Need, Requirement
from service.rules.files import Check, Parameter, RequirementTable

COMPARISONS = ("at_least", "at_most", "below")


class RuleFault(ValueError):
    """A rule file says something that cannot be; the text says where and what."""


def tenths(name: str, parameters: dict[str, Parameter]) -> int:
    """The parameter in whole tenths of its unit. Raises RuleFault where it is finer or absent."""
    if name not in parameters:
        raise RuleFault(f"no parameter is called `{name}`")
    scaled = parameters[name].value * Decimal(10)
    if scaled != scaled.to_integral_value():
        raise RuleFault(f"parameter `{name}` is finer than a tenth")
    return int(scaled)


class Compiler:
    """Compiles the checks of one rule file, whose id names its rules."""

    def __init__(self, owner: str, parameters: dict[str, Parameter]) -> None:
        self._owner = owner
        self._parameters = parameters

    def table(self, table: RequirementTable) -> Requirement:
        """The requirement of a [[requires]] table."""
        return self.check(table, table.why, Citation(table.source, table.standing))

    def check(self, check: Check, why: str, citation: Citation) -> Requirement:
        """The requirement for ``check``. Raises RuleFault where it is not exactly one form."""
        if check.any:
            self._only(check, "any")
            parts = tuple(self._simple(part, why, citation) for part in check.any)
            return AnyOf(f"{self._owner}.any", parts, why, citation)
        return self._simple(check, why, citation)

    def _simple(self, check: Check, why: str, citation: Citation) -> Need | Limit | Absent:
        if check.need is not None:
            self._only(check, "need", "at_least")
            grade = check.at_least or ""
            if grade not in GRADES[check.need][1:]:
                raise RuleFault(f"`{check.need}` has no grade `{grade}`")
            return Need(f"{self._owner}.{check.need}", check.need, grade, why, citation)
        if check.absent is not None:
            self._only(check, "absent")
            rule = f"{self._owner}.no_{check.absent}"
            return Absent(rule, check.absent, why, citation)
        if check.number is not None:
            return self._limit(check.number, check, why, citation)
        raise RuleFault("a check needs one of: need, number, absent, or any of these")

    def _limit(self, number: Number, check: Check, why: str, citation: Citation) -> Limit:
        given = [word for word in COMPARISONS if getattr(check, word) is not None]
        if len(given) != 1:
            raise RuleFault("a number needs exactly one of: at_least, at_most, below")
        parameter = str(getattr(check, given[0]))
        return Limit(
            f"{self._owner}.{number}",
            number,
            given[0],
            parameter,
            tenths(parameter, self._parameters),
            why,
            citation,
        )

    def _only(self, check: Check, *allowed: str) -> None:
        fields = ("need", "number", "absent", "any", *COMPARISONS)
        odd = [word for word in fields if getattr(check, word) and word not in allowed]
        if odd:
            raise RuleFault(f"`{odd[0]}` does not belong in a check on `{allowed[0]}`")
