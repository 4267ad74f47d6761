"""What may stand in test_norms/<test>.toml?"""

from decimal import Decimal
from itertools import combinations
from typing import Annotated, Literal

from msgspec import Meta

from service.domain.citation import Standing
from service.domain.subject import Sex
from service.rules.comparison import Holds
from service.rules.files import File, Id, Text


class Cut(File, frozen=True):
    """``outcome`` is given when the value ``holds`` against ``value``. With ``sex`` or ages
    (both ends included) it stands for those persons only.
    """

    holds: Holds
    value: Decimal
    outcome: Id
    sex: Sex | None = None
    age_from: int | None = None
    age_to: int | None = None


class NormRule(File, frozen=True):
    """One published judgement, named ``<test>.<id>``.

    Of the cuts that stand for this person the first that holds decides, else ``otherwise``;
    where none stands for this person, ``no_norm`` says why there is no outcome.
    ``part``: the part of the test that is judged, and its ``unit``, when it is not the score.
    ``unable``: the outcome when there is no value because the person could not do it.
    """

    id: Id
    source: Id
    standing: Standing
    cuts: Annotated[tuple[Cut, ...], Meta(min_length=1)]
    otherwise: Id
    outcomes: dict[Id, Text]
    part: Id | None = None
    unit: str | None = None
    unable: Id | None = None
    no_norm: Text | None = None
    note: str | None = None
    dissent: str | None = None

    def __post_init__(self) -> None:
        used = {cut.outcome for cut in self.cuts} | {self.otherwise}
        if self.unable is not None:
            used.add(self.unable)
        if used != set(self.outcomes):
            raise ValueError(f"rule {self.id}: its outcomes and their texts differ")
        for_some = any(cut.sex or cut.age_from or cut.age_to for cut in self.cuts)
        if for_some is not bool(self.no_norm):
            raise ValueError(f"rule {self.id}: no_norm belongs to cuts for some persons only")
        if two_of_one_age(self.cuts):
            raise ValueError(f"rule {self.id}: two cuts stand for people of one age")


def two_of_one_age(cuts: tuple[Cut, ...]) -> bool:
    """Whether only the first of two cuts by age could ever speak for somebody."""
    return any(_share_ages(*pair) for pair in combinations(cuts, 2))


def _share_ages(one: Cut, other: Cut) -> bool:
    if None in (one.age_from, one.age_to, other.age_from, other.age_to) or one.sex != other.sex:
        return False
    latest = max(one.age_from or 0, other.age_from or 0)
    return latest <= min(one.age_to or 0, other.age_to or 0)


class PointRow(File, frozen=True):
    """``points`` when the value ``holds`` against ``value``; the first row that holds counts."""

    holds: Holds
    value: Decimal
    points: Annotated[int, Meta(ge=0)]


class PointTable(File, frozen=True):
    """How the raw ``reads`` earns points towards the part ``gives``.

    ``unable``: the points when there is no value. ``after``: a raw value whose own table must
    have given points, else this one gives ``unable``.
    """

    reads: Id
    gives: Id
    source: Id
    standing: Standing
    rows: Annotated[tuple[PointRow, ...], Meta(min_length=1)]
    otherwise: Annotated[int, Meta(ge=0)]
    unable: Annotated[int, Meta(ge=0)]
    after: Id | None = None
    note: str | None = None


class FixedScore(File, frozen=True):
    """``score`` stands in place of what was counted when ``when`` is so."""

    when: Id
    score: Decimal
    why: Text
    source: Id
    standing: Standing


class Change(File, frozen=True):
    """A published change that counts, in ``unit``. ``claim``: what a change of this size may be
    called; ``possible`` where it is below what the test can tell from its own error.
    """

    id: Id
    kind: Literal["small", "substantial", "minimal_detectable", "minimal_important"]
    value: Decimal
    unit: str
    claim: Literal["real", "possible"]
    source: Id
    standing: Standing
    note: str | None = None
    dissent: str | None = None


class NormFile(File, frozen=True):
    """test_norms/<test>.toml. ``unit``: of the score, UCUM. ``decimals``: how many decimals of
    a computed score are shown; judgements are made on the exact value. ``no_change``: why no
    change is given.
    """

    title: Text
    unit: str
    rules: tuple[NormRule, ...] = ()
    points: tuple[PointTable, ...] = ()
    fixed: tuple[FixedScore, ...] = ()
    change: tuple[Change, ...] = ()
    decimals: Annotated[int, Meta(ge=0, le=6)] = 0
    no_change: Text | None = None
    note: str | None = None

    def __post_init__(self) -> None:
        ids = [rule.id for rule in self.rules]
        if len(ids) != len(set(ids)):
            raise ValueError("two rules have one id")
        read: set[str] = set()
        for table in self.points:
            if table.after is not None and table.after not in read:
                raise ValueError(f"points for {table.reads}: {table.after} is not read before")
            read.add(table.reads)
