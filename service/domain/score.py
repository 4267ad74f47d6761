"""How did the optional tests score against their published norms?"""

from decimal import Decimal

from msgspec import Struct

from service.domain.citation import Standing


class Judgement(Struct, frozen=True):
    """One published cut point held against the score. ``outcome`` is a coded word such as
    ``at_risk``; null with ``note`` set when the source has no norm for this person."""

    rule: str
    cut_point: str
    outcome: str | None
    text: str
    source: str
    standing: Standing
    note: str | None = None


class TestScore(Struct, frozen=True):
    """A test's score in ``unit`` (UCUM), its parts, and every judgement on it."""

    __test__ = False  # not a test case, whatever a collector thinks of the name

    test: str
    title: str
    score: Decimal | None
    unit: str
    judgements: tuple[Judgement, ...]
    parts: dict[str, Decimal] = {}
