"""How are the rule files checked and frozen into a rule book?

A file that names something that does not exist, or cites nothing, stops the start; every
such fault is told at once, with its file and what is wrong in it.
"""

from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from service.domain.axis import GRADES, Axis
from service.domain.citation import Source
from service.domain.condition import Condition
from service.domain.move import Move
from service.domain.plan import RuleBookRef
from service.domain.stages import Stage
from service.rules import build
from service.rules.book import RuleBook
from service.rules.compile import Compiler, RuleFault
from service.rules.files import Parameter
from service.rules.reading import BadRuleBook, RuleFiles, digest_of, read_files, uncited

HERE = Path(__file__).parent
V = TypeVar("V")
F = TypeVar("F")


@lru_cache(maxsize=1)
def load_book() -> RuleBook:
    """The rule book that comes with the service, read once."""
    return read_book(HERE)


def read_book(root: Path) -> RuleBook:
    """The rule book under ``root``. Raises BadRuleBook with every fault found."""
    files = read_files(root)
    faults = [*_closed_words(files), *uncited(files), *_unknown_words(files)]
    if faults:
        raise BadRuleBook(faults)
    return _freeze(files, RuleBookRef(files.plan.version, digest_of(root)))


def _freeze(files: RuleFiles, ref: RuleBookRef) -> RuleBook:
    faults: list[str] = []
    parameters = _parameters(files, faults)
    methods = _each(
        "methods", files.methods, lambda name, file: build.method(name, file, parameters), faults
    )
    moves = _each(
        "moves",
        files.moves,
        lambda name, file: build.move(Move(name), file, methods, parameters),
        faults,
    )
    plan, compiler = files.plan, Compiler("plan", parameters)
    goals = _each(
        "plan.toml goals",
        {table.id: table for table in plan.goals},
        lambda _, table: build.goal(table, parameters),
        faults,
    )
    exercises = _each(
        "plan.toml exercises",
        {table.id: table for table in plan.exercises},
        lambda _, table: build.exercise(table, parameters),
        faults,
    )
    said = _each(
        "plan.toml",
        {"notice": plan.notices, "rescreen": plan.rescreen},
        lambda name, tables: build.said(compiler, name, tables),
        faults,
    )
    if faults:
        raise BadRuleBook(faults)
    return RuleBook(
        ref=ref,
        sources={
            name: Source(
                id=name,
                title=file.title,
                body=file.body,
                seen=file.seen,
                edition=file.edition,
                year=file.year,
                licence=file.licence,
                note=file.note,
            )
            for name, file in files.sources.items()
        },
        parameters=parameters,
        axes={Axis(name): file for name, file in files.axes.items()},
        conditions={Condition(name): file for name, file in files.conditions.items()},
        stages=dict(sorted(files.stages.items(), key=lambda item: item[1].order)),
        device_classes=files.device_classes,
        accessories=files.accessories,
        methods=methods,
        moves={move: moves[move] for move in Move},
        norms=files.test_norms,
        notices=said["notice"],
        rescreen=said["rescreen"],
        goals=tuple(goals.values()),
        exercises=tuple(exercises.values()),
    )


def _each(
    place: str, files: dict[str, F], make: Callable[[str, F], V], faults: list[str]
) -> dict[str, V]:
    made: dict[str, V] = {}
    for name, file in files.items():
        try:
            made[name] = make(name, file)
        except RuleFault as fault:
            faults.append(f"{place}/{name}: {fault}")
    return made


def _parameters(files: RuleFiles, faults: list[str]) -> dict[str, Parameter]:
    parameters: dict[str, Parameter] = {}
    for group, tables in files.parameter_groups.items():
        for name, parameter in tables.items():
            if name in parameters:
                faults.append(f"parameters/{group}: `{name}` stands in another file too")
            parameters[name] = parameter
    return parameters


def _closed_words(files: RuleFiles) -> Iterator[str]:
    """Words of the closed vocabulary without a file, files without a word, grades that differ."""
    words: tuple[tuple[str, Iterable[str], Iterable[str]], ...] = (
        ("axes", Axis, files.axes),
        ("conditions", Condition, files.conditions),
        ("stages", Stage, files.stages),
        ("moves", Move, files.moves),
    )
    for folder, known, found in words:
        for word in sorted(set(known) ^ set(found)):
            yield f"{folder}/{word}: the file and the word must both exist"
    for name, axis in files.axes.items():
        if name in set(Axis) and tuple(axis.grades) != GRADES[Axis(name)]:
            yield f"axes/{name}: its grades must be {', '.join(GRADES[Axis(name)])}, in this order"
    if build.LAST_RESORT not in files.methods:
        yield f"methods/{build.LAST_RESORT}: the last resort is missing"


def _unknown_words(files: RuleFiles) -> Iterator[str]:
    """Device classes, accessories, stages and methods that are named and do not exist."""
    for name, method in files.methods.items():
        place = f"methods/{name}"
        if method.device_class not in (None, *files.device_classes):
            yield f"{place}: no device class is called `{method.device_class}`"
        for accessory in method.accessories:
            if accessory.accessory not in files.accessories:
                yield f"{place}: no accessory is called `{accessory.accessory}`"
        for example in method.examples:
            if example.method not in files.methods:
                yield f"{place}: no method is called `{example.method}`"
    for goal in files.plan.goals:
        if goal.stage not in (None, *Stage):
            yield f"plan.toml: no stage is called `{goal.stage}`"
