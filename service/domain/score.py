"""How did the optional tests score against their published norms?"""

from datetime import datetime
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


class ScoreChange(Struct, frozen=True):
    """The score against the last comparable one. ``difference``: now less then, in the test's
    unit. ``claims``: each published change that counts, and whether this one reaches it."""

    since: datetime
    earlier_score: Decimal
    difference: Decimal
    claims: tuple["ChangeClaim", ...]
    note: str | None = None


class ChangeClaim(Struct, frozen=True):
    """``claim``: what a change of ``size`` may be called, real or possible; null where this one
    is smaller."""

    rule: str
    kind: str
    size: Decimal
    claim: str | None
    source: str
    standing: Standing


class TestScore(Struct, frozen=True):
    """A test's score in ``unit`` (UCUM), its parts, and every judgement on it."""

    __test__ = False  # not a test case, whatever a collector thinks of the name

    test: str
    title: str
    score: Decimal | None
    unit: str
    judgements: tuple[Judgement, ...]
    parts: dict[str, Decimal] = {}
    change: ScoreChange | None = None


class EarlierScore(Struct, frozen=True):
    """A score of an earlier screen of the same person."""

    observed_at: datetime
    score: TestScore
