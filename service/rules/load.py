"""How are the rule files checked and frozen into a rule book?

A file that names something that does not exist, or cites nothing, stops the start; every
such fault is told at once, with its file and what is wrong in it.
"""

from collections.abc import Callable, Iterable
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from service.domain.axis import Axis
from service.domain.citation import Source
from service.domain.condition import Condition
from service.domain.move import Move
from service.domain.plan import RuleBookRef
from service.domain.units import Units
from service.rules import build
from service.rules.book import ExerciseRule, GoalRule, Method, MoveRules, RuleBook, SaidRule
from service.rules.compile import Compiler, RuleFault
from service.rules.files import Parameter
from service.rules.overlay import ref_with, with_overlay
from service.rules.parameters import parameter_faults
from service.rules.reading import BadRuleBook, RuleFiles, digest_of, read_files
from service.rules.texts import filled, unfilled, with_pounds
from service.rules.vocabulary import READ_IN_CODE, word_faults

HERE = Path(__file__).parent
POUND = "kg_a_pound"
V = TypeVar("V")
F = TypeVar("F")


@lru_cache(maxsize=4)
def load_book(overlay: Path | None = None) -> RuleBook:
    """The rule book that comes with the service, under a hospital's own overlay file, read once
    in the life of a process."""
    return read_book(HERE, overlay)


@lru_cache
def load_overlaid(content: bytes, name: str, units: Units = Units.SI) -> RuleBook:
    """The rule book that comes with the service under an overlay that was kept, said in
    ``units``; ``name`` is how its file was called. Without content there is no overlay.

    The digest covers all of it. Raises BadRuleBook with every fault found.
    """
    files, ref = read_with(HERE, None)
    if content:
        files, ref = with_overlay(files, content, name), ref_with(ref, content)
    if units == Units.US:
        ref = ref_with(ref, units.encode())
    return freeze(files, ref, units)


def read_book(root: Path, overlay: Path | None = None) -> RuleBook:
    """The rule book under ``root``. Raises BadRuleBook with every fault found."""
    return freeze(*read_with(root, overlay))


def read_with(root: Path, overlay: Path | None) -> tuple[RuleFiles, RuleBookRef]:
    """The files under ``root`` with the overlay over them, and what they are called together."""
    files = read_files(root)
    ref = RuleBookRef(files.plan.version, digest_of(root))
    if overlay is None:
        return files, ref
    content = read_overlay(overlay)
    return with_overlay(files, content, overlay.name), ref_with(ref, content)


def read_overlay(path: Path) -> bytes:
    """The content of an overlay's file, unchecked. Raises BadRuleBook where it cannot be read."""
    try:
        return path.read_bytes()
    except OSError as fault:
        raise BadRuleBook([f"{path}: {fault.strerror}"]) from None


def freeze(files: RuleFiles, ref: RuleBookRef, units: Units = Units.SI) -> RuleBook:
    """The rule book that ``files`` make. Raises BadRuleBook with every fault found."""
    faults = list(word_faults(files))
    if faults:
        raise BadRuleBook(faults)
    return _freeze(files, ref, units)


def _freeze(files: RuleFiles, ref: RuleBookRef, units: Units) -> RuleBook:
    faults: list[str] = []
    parameters = _parameters(files, faults)
    files = filled(files, parameters)
    if units == Units.US:
        files = with_pounds(files, parameters[POUND].value)
    methods = _methods(files, parameters, faults)
    moves = _moves(files, methods, parameters, faults)
    said = _said(files, parameters, faults)
    goals = _goals(files, parameters, faults)
    exercises = _exercises(files, parameters, faults)
    if faults:
        raise BadRuleBook(faults)
    return RuleBook(
        ref=ref,
        sources=_sources(files),
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
        goals=goals,
        exercises=exercises,
        asks=files.plan.asks,
        numbers=files.plan.numbers,
    )


def _sources(files: RuleFiles) -> dict[str, Source]:
    return {
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
    }


def _parameters(files: RuleFiles, faults: list[str]) -> dict[str, Parameter]:
    parameters: dict[str, Parameter] = {}
    for group, tables in files.parameter_groups.items():
        for name, parameter in tables.items():
            if name in parameters:
                faults.append(f"parameters/{group}: `{name}` stands in another file too")
            parameters[name] = parameter
    faults.extend(
        f"parameters/: no parameter is called `{name}`"
        for name in READ_IN_CODE
        if name not in parameters
    )
    faults.extend(f"parameters/: {said}" for said in parameter_faults(parameters))
    faults.extend(unfilled(files, parameters))
    return parameters


def _methods(
    files: RuleFiles, parameters: dict[str, Parameter], faults: list[str]
) -> dict[str, Method]:
    made = _each(
        "methods",
        files.methods.items(),
        lambda name, file: build.method(name, file, parameters),
        faults,
    )
    return dict(made)


def _moves(
    files: RuleFiles,
    methods: dict[str, Method],
    parameters: dict[str, Parameter],
    faults: list[str],
) -> dict[str, MoveRules]:
    made = _each(
        "moves",
        files.moves.items(),
        lambda name, file: build.move(Move(name), file, methods, parameters),
        faults,
    )
    return dict(made)


def _said(
    files: RuleFiles, parameters: dict[str, Parameter], faults: list[str]
) -> dict[str, tuple[SaidRule, ...]]:
    compiler = Compiler("plan", parameters)
    made = _each(
        "plan.toml",
        (("notice", files.plan.notices), ("rescreen", files.plan.rescreen)),
        lambda name, tables: build.said(compiler, name, tables),
        faults,
    )
    return dict(made)


def _goals(
    files: RuleFiles, parameters: dict[str, Parameter], faults: list[str]
) -> tuple[GoalRule, ...]:
    made = _each(
        "plan.toml goals",
        ((table.id, table) for table in files.plan.goals),
        lambda _, table: build.goal(table, parameters),
        faults,
    )
    return tuple(goal for _, goal in made)


def _exercises(
    files: RuleFiles, parameters: dict[str, Parameter], faults: list[str]
) -> tuple[ExerciseRule, ...]:
    made = _each(
        "plan.toml exercises",
        ((table.id, table) for table in files.plan.exercises),
        lambda _, table: build.exercise(table, parameters),
        faults,
    )
    return tuple(exercise for _, exercise in made)


def _each(
    place: str, files: Iterable[tuple[str, F]], make: Callable[[str, F], V], faults: list[str]
) -> list[tuple[str, V]]:
    made: list[tuple[str, V]] = []
    for name, file in files:
        try:
            made.append((name, make(name, file)))
        except RuleFault as fault:
            faults.append(f"{place}/{name}: {fault}")
    return made
