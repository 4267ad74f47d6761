"""How do a method's and a move's files become what the evaluator reads?"""

from collections.abc import Sequence
from typing import TypeVar

from service.domain.citation import Citation
from service.domain.move import Move
from service.domain.requirement import Requirement
from service.rules.book import (
    AccessoryRule,
    ExerciseRule,
    GoalRule,
    HelperRule,
    Method,
    MoveRules,
    Option,
    SaidRule,
    StepRule,
)
from service.rules.compile import Compiler, RuleFault, tenths
from service.rules.files import (
    AccessoryTable,
    Check,
    MethodFile,
    MoreHelpers,
    MoveFile,
    Parameter,
    SaidTable,
    StepTable,
)
from service.rules.plan_files import ExerciseTable, GoalTable

LAST_RESORT = "do_not_move"
T = TypeVar("T")


def said(compiler: Compiler, owner: str, tables: Sequence[SaidTable]) -> tuple[SaidRule, ...]:
    """Cautions, stop signs, notices or triggers; ids are unique within ``owner``."""
    ids = [table.id for table in tables]
    if len(ids) != len(set(ids)):
        raise RuleFault("two sentences have one id")
    return tuple(
        SaidRule(
            f"{owner}.{table.id}",
            table.text,
            Citation(table.source, table.standing),
            _unless(compiler, table.unless, table.text, Citation(table.source, table.standing)),
            frozenset(table.moves),
        )
        for table in tables
    )


def method(name: str, file: MethodFile, parameters: dict[str, Parameter]) -> Method:
    """The method declared in methods/<name>.toml."""
    compiler = Compiler(name, parameters)
    return Method(
        id=name,
        title=file.title,
        plain=file.plain,
        support=file.support,
        needs_standing=file.needs_standing,
        assisted=file.assisted,
        helpers=file.helpers.count,
        helpers_why=file.helpers.why,
        helpers_citation=Citation(file.helpers.source, file.helpers.standing),
        device_class=file.device_class,
        training=file.training,
        requires=tuple(compiler.table(table) for table in file.requires),
        more_helpers=tuple(_helpers(compiler, name, table) for table in file.more_helpers),
        accessories=tuple(_accessory(compiler, name, table) for table in file.accessories),
        steps=tuple(_step(compiler, table) for table in file.steps),
        cautions=said(compiler, name, file.cautions),
        stop_signs=said(compiler, f"{name}.stop", file.stop_signs),
        examples=file.examples,
        citation=Citation(file.source, file.standing),
    )


def _accessory(compiler: Compiler, owner: str, table: AccessoryTable) -> AccessoryRule:
    citation = Citation(table.source, table.standing)
    unless = _unless(compiler, table.unless, table.why, citation)
    place = "" if unless is None else unless.rule.removeprefix(owner)
    return AccessoryRule(
        f"{owner}.{table.accessory}{place}",
        table.accessory,
        table.why,
        citation,
        unless,
        frozenset(table.moves),
    )


def _step(compiler: Compiler, table: StepTable) -> StepRule:
    citation = Citation(table.source, table.standing)
    return StepRule(
        table.text,
        table.brakes,
        citation,
        _unless(compiler, table.unless, table.text, citation),
        frozenset(table.moves),
    )


def move(
    move_id: Move, file: MoveFile, methods: dict[str, Method], parameters: dict[str, Parameter]
) -> MoveRules:
    """The move with its options in the order of support; the last resort closes the list."""
    named = {name for table in file.requires for name in table.methods}
    named |= {name for table in file.more_helpers for name in table.methods}
    for name in (*file.methods, *sorted(named)):
        if name not in methods or name == LAST_RESORT:
            raise RuleFault(f"no method to choose is called `{name}`")
    if not named <= set(file.methods):
        raise RuleFault("a table names a method that does not serve the move")
    serving = sorted((methods[name] for name in file.methods), key=lambda each: each.support)
    compiler = Compiler(move_id, parameters)
    requires = [(table.methods, compiler.table(table)) for table in file.requires]
    more = [(table.methods, _helpers(compiler, move_id, table)) for table in file.more_helpers]
    options = [
        Option(
            each,
            (*_for(each, requires), *each.requires),
            (*each.more_helpers, *(_for(each, more) if each.helpers else ())),
        )
        for each in serving
    ]
    options.append(Option(methods[LAST_RESORT], (), ()))
    return MoveRules(
        move=move_id,
        title=file.title,
        plain=file.plain,
        only_on_the_floor=file.only_on_the_floor,
        options=tuple(options),
        cautions=said(compiler, move_id, file.cautions),
        citation=Citation(file.source, file.standing),
    )


def _for(chosen: Method, rules: Sequence[tuple[tuple[str, ...], T]]) -> tuple[T, ...]:
    """The move's own rules that stand for ``chosen``; one that names no method stands for all."""
    return tuple(rule for names, rule in rules if not names or chosen.id in names)


def goal(table: GoalTable, parameters: dict[str, Parameter]) -> GoalRule:
    """A goal; its target in whole seconds."""
    citation = Citation(table.source, table.standing)
    compiler = Compiler(f"goal.{table.id}", parameters)
    return GoalRule(
        table.id,
        table.text,
        citation,
        compiler.check(table.unless, table.text, citation),
        table.stage,
        None if table.target is None else tenths(table.target, parameters) // 10,
        tuple(compiler.check(each, table.text, citation) for each in table.only_if),
    )


def exercise(table: ExerciseTable, parameters: dict[str, Parameter]) -> ExerciseRule:
    """A prescription; seat heights in whole percent of popliteal height."""
    citation = Citation(table.source, table.standing)
    low, high = (
        None if name is None else tenths(name, parameters) // 10
        for name in (table.seat_percent_low, table.seat_percent_high)
    )
    compiler = Compiler(f"exercise.{table.id}", parameters)
    when = compiler.check(table.when, table.text, citation)
    only_if = tuple(compiler.check(each, table.text, citation) for each in table.only_if)
    return ExerciseRule(table.id, table.text, citation, when, table.hands, low, high, only_if)


def _helpers(compiler: Compiler, owner: str, table: MoreHelpers) -> HelperRule:
    if (table.at_least is None) == (table.add is None):
        raise RuleFault("more helpers are told by exactly one of: at_least, add")
    citation = Citation(table.source, table.standing)
    unless = _unless(compiler, table.unless, table.why, citation)
    rule = f"{owner}.helpers" if unless is None else f"{unless.rule}.helpers"
    return HelperRule(rule, unless, table.at_least or 0, table.add or 0, table.why, citation)


def _unless(
    compiler: Compiler, check: Check | None, why: str, citation: Citation
) -> Requirement | None:
    return None if check is None else compiler.check(check, why, citation)
