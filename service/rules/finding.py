"""How is a recorded fact written down with the rule that read it?"""

from decimal import Decimal

from service.domain.axis import Axis
from service.domain.condition import Condition
from service.domain.profile import Finding
from service.rules.book import RuleBook

NOT_RECORDED = "not recorded"


def shown(value: object) -> str:
    """A recorded value in words: null is "not recorded"."""
    if value is None:
        return NOT_RECORDED
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def by_axis(book: RuleBook, axis: Axis, path: str, value: object) -> Finding:
    """A fact read by the rule of an axis."""
    file = book.axes[axis]
    return Finding(path, shown(value), axis, file.source, file.standing)


def by_condition(book: RuleBook, condition: Condition, path: str, value: object) -> Finding:
    """A fact read by the rule of a condition."""
    file = book.conditions[condition]
    return Finding(path, shown(value), condition, file.source, file.standing)


def by_parameter(book: RuleBook, parameter: str, path: str, value: object) -> Finding:
    """A fact held against a parameter."""
    held = book.parameters[parameter]
    limit = f"{held.value} {held.unit}" if held.unit != "1" else str(held.value)
    return Finding(path, shown(value), parameter, held.source, held.standing, limit)


def limit(book: RuleBook, parameter: str) -> Decimal:
    """The value of a parameter, in its own unit."""
    return book.parameters[parameter].value
