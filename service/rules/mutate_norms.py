"""What would the norm files say with one cut point, count of points or change moved by a step?"""

from collections.abc import Iterator
from decimal import Decimal
from typing import TypeVar

from msgspec.structs import replace

from service.rules.comparison import Holds
from service.rules.norm_files import Cut, NormFile, NormRule, PointRow, PointTable, two_of_one_age

FLIPPED: dict[Holds, Holds] = {"<": "<=", "<=": "<", ">": ">=", ">=": ">"}
A = TypeVar("A")
Weaker = Iterator[tuple[str, NormFile]]


def norm_mutants(norm: NormFile) -> Weaker:
    """Each with what was done to it: a rule, a cut or a row removed, a limit moved by one of its
    last digit both ways or turned from "less" to "less or equal", an age or a count by one."""
    for at, rule in enumerate(norm.rules):
        yield f"{rule.id}: removed", replace(norm, rules=put(norm.rules, at))
        for step, changed in _of_rule(rule):
            yield f"{rule.id}: {step}", replace(norm, rules=put(norm.rules, at, changed))
    for at, table in enumerate(norm.points):
        for step, points in _of_table(table):
            yield f"{table.reads}: {step}", replace(norm, points=put(norm.points, at, points))
    for at, fixed in enumerate(norm.fixed):
        yield f"{fixed.when}: removed", replace(norm, fixed=put(norm.fixed, at))
        more = replace(fixed, score=fixed.score + 1)
        yield f"{fixed.when}: a point more", replace(norm, fixed=put(norm.fixed, at, more))
    for at, change in enumerate(norm.change):
        yield f"{change.id}: removed", replace(norm, change=put(norm.change, at))
        for value in _beside(change.value):
            moved = replace(change, value=value)
            yield f"{change.id}: {value}", replace(norm, change=put(norm.change, at, moved))


def _of_rule(rule: NormRule) -> Iterator[tuple[str, NormRule]]:
    for at, cut in enumerate(rule.cuts):
        said = f"{cut.holds} {cut.value}"
        if rule.cuts[1:]:
            yield f"{said}{_whom(cut)}: removed", _with(rule, put(rule.cuts, at))
        for step, changed in _of_cut(cut):
            cuts = put(rule.cuts, at, changed)
            if not two_of_one_age(cuts):
                yield f"{said}{_whom(cut)}: {step}", _with(rule, cuts)


def _with(rule: NormRule, cuts: tuple[Cut, ...]) -> NormRule:
    """The rule with other cuts, and words for those outcomes alone that they lead to."""
    used = {rule.otherwise, rule.unable, *(cut.outcome for cut in cuts)}
    texts = {name: text for name, text in rule.outcomes.items() if name in used}
    return replace(rule, cuts=cuts, outcomes=texts)


def _whom(cut: Cut) -> str:
    return "".join(f" {each}" for each in (cut.sex, cut.age_from, cut.age_to) if each is not None)


def _of_cut(cut: Cut) -> Iterator[tuple[str, Cut]]:
    yield FLIPPED[cut.holds], replace(cut, holds=FLIPPED[cut.holds])
    for value in _beside(cut.value):
        yield f"{value}", replace(cut, value=value)
    if cut.age_from is not None:
        yield "a year later", replace(cut, age_from=cut.age_from + 1)
        yield "a year earlier", replace(cut, age_from=cut.age_from - 1)
    if cut.age_to is not None:
        yield "a year less", replace(cut, age_to=cut.age_to - 1)
        yield "a year more", replace(cut, age_to=cut.age_to + 1)


def _of_table(table: PointTable) -> Iterator[tuple[str, PointTable]]:
    for at, row in enumerate(table.rows):
        said = f"{row.holds} {row.value}"
        if table.rows[1:]:
            yield f"{said}: removed", replace(table, rows=put(table.rows, at))
        for step, changed in _of_row(row):
            yield f"{said}: {step}", replace(table, rows=put(table.rows, at, changed))
    yield "otherwise a point more", replace(table, otherwise=table.otherwise + 1)
    yield "unable a point more", replace(table, unable=table.unable + 1)
    if table.after is not None:
        yield f"not after {table.after}", replace(table, after=None)


def _of_row(row: PointRow) -> Iterator[tuple[str, PointRow]]:
    yield FLIPPED[row.holds], replace(row, holds=FLIPPED[row.holds])
    for value in _beside(row.value):
        yield f"{value}", replace(row, value=value)
    yield "a point more", replace(row, points=row.points + 1)
    if row.points:
        yield "a point less", replace(row, points=row.points - 1)


def _beside(value: Decimal) -> tuple[Decimal, Decimal]:
    """The next values of as many decimals."""
    step = Decimal((0, (1,), int(value.as_tuple().exponent)))
    return value - step, value + step


def put(items: tuple[A, ...], at: int, *instead: A) -> tuple[A, ...]:
    """``items`` with ``instead`` in the place of the one at ``at``."""
    return (*items[:at], *instead, *items[at + 1 :])
