"""In which closed words does a rule say what a method asks for?

Each form can only stop holding, never begin to hold, when a capability falls, an order
tightens or a precaution is added: a need of at least a grade, a number inside a limit,
a condition that must be absent, or any one of several of these.
"""

from msgspec import Struct

from service.domain.axis import Axis, Number
from service.domain.citation import Citation
from service.domain.condition import Condition


class Need(Struct, frozen=True, tag="need"):
    """``axis`` must reach ``grade``."""

    rule: str
    axis: Axis
    grade: str
    why: str
    citation: Citation


class Limit(Struct, frozen=True, tag="limit"):
    """``number`` must compare with ``value`` (whole tenths) as ``comparison`` says.

    comparison: at_least, at_most or below. ``parameter`` names where the value stands.
    """

    rule: str
    number: Number
    comparison: str
    parameter: str
    value: int
    why: str
    citation: Citation


class Absent(Struct, frozen=True, tag="absent"):
    """``condition`` must not be present."""

    rule: str
    condition: Condition
    why: str
    citation: Citation


class AnyOf(Struct, frozen=True, tag="any"):
    """At least one of ``parts`` must hold."""

    rule: str
    parts: tuple["Need | Limit | Absent", ...]
    why: str
    citation: Citation


Requirement = Need | Limit | Absent | AnyOf
