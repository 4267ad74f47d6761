"""What would the rule files say with one of them weakened by one step?

A weakened rule that no table, example or claim notices is a rule that nobody holds.
"""

from collections.abc import Callable, Iterator
from decimal import ROUND_HALF_UP, Decimal
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from service.domain.axis import GRADES, RANK
from service.rules.compile import COMPARISONS
from service.rules.files import (
    AccessoryTable,
    Check,
    MethodFile,
    MoreHelpers,
    MoveFile,
    Parameter,
    RequirementTable,
)
from service.rules.mutate_norms import norm_mutants, put
from service.rules.reading import RuleFiles

TENTH = Decimal("0.1")
MOVED = "moved"
LAXER: dict[str, tuple[int, ...]] = {"lower": (1,), "higher": (-1,)}
C = TypeVar("C", bound=Check)
T = TypeVar("T", RequirementTable, MoreHelpers)
F = TypeVar("F", MethodFile, MoveFile)


class Mutant(Struct, frozen=True):
    """``files`` with the rule of ``place`` weakened as ``step`` says."""

    place: str
    step: str
    files: RuleFiles

    @property
    def id(self) -> str:
        return f"{self.place}: {self.step}"


def mutants(files: RuleFiles) -> Iterator[Mutant]:
    """Every weakening by a single step: a requirement removed or asking a grade or a limit less,
    a helper fewer, a parameter moved, an accessory left away, a cut point of a test moved."""
    yield from _parameters(files)
    deciding = _with_moved(without_words(files))
    yield from _rules(deciding)
    yield from _accessories(deciding)
    for name, norm in files.test_norms.items():
        for step, changed in norm_mutants(norm):
            norms = {**files.test_norms, name: changed}
            yield Mutant(f"test_norms/{name}", step, replace(files, test_norms=norms))


def without_words(files: RuleFiles) -> RuleFiles:
    """Only what decides: reading the sentences again for every weakened rule takes long."""
    silent = {
        name: replace(method, steps=(), cautions=(), stop_signs=())
        for name, method in files.methods.items()
    }
    return replace(files, methods=silent)


def _rules(files: RuleFiles) -> Iterator[Mutant]:
    for name, method in files.methods.items():
        for step, weaker in _of_method(method, files):
            weakened = {**files.methods, name: weaker}
            yield Mutant(f"methods/{name}", step, replace(files, methods=weakened))
    for name, move in files.moves.items():
        for step, changed in _of_tables(move, files):
            changed_moves = {**files.moves, name: changed}
            yield Mutant(f"moves/{name}", step, replace(files, moves=changed_moves))


def _accessories(files: RuleFiles) -> Iterator[Mutant]:
    for name, method in files.methods.items():
        for step, tables in _fewer_accessories(method.accessories, files):
            weakened = {**files.methods, name: replace(method, accessories=tables)}
            yield Mutant(f"methods/{name}", step, replace(files, methods=weakened))


def _fewer_accessories(
    tables: tuple[AccessoryTable, ...], files: RuleFiles
) -> Iterator[tuple[str, tuple[AccessoryTable, ...]]]:
    for index, table in enumerate(tables):
        said = f"accessory {table.accessory} ({table.why})"
        yield f"{said}: removed", put(tables, index)
        for step, unless in _weaker(table.unless, files) if table.unless else ():
            yield f"{said}: unless {step}", put(tables, index, replace(table, unless=unless))


def _parameters(files: RuleFiles) -> Iterator[Mutant]:
    for group, tables in files.parameter_groups.items():
        for name, parameter in tables.items():
            for value in _laxer(parameter):
                tables_then = {**tables, name: replace(parameter, value=value)}
                groups = {**files.parameter_groups, group: tables_then}
                yield Mutant(
                    f"parameters/{group}",
                    f"{name} {parameter.value} -> {value}",
                    replace(files, parameter_groups=groups),
                )


def _laxer(parameter: Parameter) -> list[Decimal]:
    """The value moved by a tenth, by a whole unit where it is whole, and by ten percent: away
    from its stricter side, both ways where it has none."""
    value = parameter.value
    steps = {TENTH, (abs(value) * TENTH).quantize(TENTH, ROUND_HALF_UP)}
    if value == value.to_integral_value():
        steps.add(Decimal(1))
    signs = LAXER.get(parameter.stricter or "", (1, -1))
    return [value + sign * step for step in sorted(steps - {Decimal(0)}) for sign in signs]


def _with_moved(files: RuleFiles) -> RuleFiles:
    """``files`` with every value a limit could be moved to, as a parameter of its own."""
    moved = {
        _moved(name, word, step): replace(
            parameter, value=value, lowest=None, highest=None, not_above=()
        )
        for tables in files.parameter_groups.values()
        for name, parameter in tables.items()
        for word in COMPARISONS
        for step, value in _limits(parameter, word)
    }
    return replace(files, parameter_groups={**files.parameter_groups, MOVED: moved})


def _limits(parameter: Parameter, word: str) -> Iterator[tuple[str, Decimal]]:
    """The limit an easier tenth and an easier ten percent away, in whole tenths."""
    sign = -1 if word == "at_least" else 1
    share = (abs(parameter.value) * TENTH).quantize(TENTH, ROUND_HALF_UP)
    for step, by in (("a_tenth", TENTH), ("ten_percent", share)):
        yield step, parameter.value + sign * by


def _moved(name: str, word: str, step: str) -> str:
    return f"{name} {word} {step}"


def _of_method(method: MethodFile, files: RuleFiles) -> Iterator[tuple[str, MethodFile]]:
    count = method.helpers.count
    if count:
        fewer = replace(method.helpers, count=count - 1)
        yield f"helpers {count} -> {count - 1}", replace(method, helpers=fewer)
    yield from _of_tables(method, files)


def _of_tables(file: F, files: RuleFiles) -> Iterator[tuple[str, F]]:
    for said, requires in _each(file.requires, _weaker_requirement, files):
        yield f"requires {said}", replace(file, requires=requires)
    for said, more in _each(file.more_helpers, _weaker_helpers, files):
        yield f"more helpers {said}", replace(file, more_helpers=more)


def _each(
    tables: tuple[T, ...],
    weaken: Callable[[T, RuleFiles], Iterator[tuple[str, T]]],
    files: RuleFiles,
) -> Iterator[tuple[str, tuple[T, ...]]]:
    """The tables with one of them removed, weakened, or no longer standing for one method."""
    for index, table in enumerate(tables):
        said = _said(table)
        yield f"{said}: removed", put(tables, index)
        for step, weaker in weaken(table, files):
            yield f"{said}: {step}", put(tables, index, weaker)
        for name in table.methods if table.methods[1:] else ():
            others = tuple(each for each in table.methods if each != name)
            yield f"{said}: not for {name}", put(tables, index, replace(table, methods=others))


def _said(table: RequirementTable | MoreHelpers) -> str:
    """What the table asks, short, with the methods it stands for."""
    whom = f" ({', '.join(table.methods)})" if table.methods else ""
    if isinstance(table, RequirementTable):
        return _told(table) + whom
    asked = f"{table.add} more" if table.add else f"at least {table.at_least}"
    return f"{asked}{f' unless {_told(table.unless)}' if table.unless else ''}{whom}"


def _told(check: Check) -> str:
    if check.any:
        return " or ".join(_told(part) for part in check.any)
    if check.absent is not None:
        return f"no {check.absent}"
    word = next(word for word in COMPARISONS if getattr(check, word) is not None)
    return f"{check.need or check.number} {word} {getattr(check, word)}"


def _weaker_requirement(
    table: RequirementTable, files: RuleFiles
) -> Iterator[tuple[str, RequirementTable]]:
    return _weaker(table, files)


def _weaker(check: C, files: RuleFiles) -> Iterator[tuple[str, C]]:
    """``check`` asking a grade less, or one of its limits moved."""
    if check.need is not None and check.at_least is not None:
        lower = GRADES[check.need][RANK[check.need][check.at_least] - 1]
        if lower != GRADES[check.need][0]:
            yield f"{check.need} at_least {lower}", replace(check, at_least=lower)
    if check.number is not None:
        word = next(word for word in COMPARISONS if getattr(check, word) is not None)
        name = getattr(check, word)
        parameter = next(each[name] for each in files.parameter_groups.values() if name in each)
        for step, value in _limits(parameter, word):
            if value != parameter.value:
                limited = replace(check, **{word: _moved(name, word, step)})
                yield f"{check.number} {word} {value}", limited
    for index, part in enumerate(check.any):
        for step, weaker in _weaker(part, files):
            yield step, replace(check, any=put(check.any, index, weaker))


def _weaker_helpers(table: MoreHelpers, files: RuleFiles) -> Iterator[tuple[str, MoreHelpers]]:
    if table.at_least is not None:
        yield f"at least {table.at_least - 1}", replace(table, at_least=table.at_least - 1)
    if table.unless is not None:
        for step, unless in _weaker(table.unless, files):
            yield f"unless {step}", replace(table, unless=unless)
