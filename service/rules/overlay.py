"""What may a hospital change in the rule book for itself, and what not?

An overlay sets parameters and adds notices, nothing else. A default may be set either way inside
its bounds; any other value may only be made stricter, towards the side that its file declares.
"""

import hashlib
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, get_args

import msgspec
from msgspec import Struct, field
from msgspec.structs import asdict, replace

from service.domain.citation import Standing
from service.domain.plan import RuleBookRef
from service.rules.files import (
    AccessoryTable,
    File,
    Id,
    MoreHelpers,
    Parameter,
    RequirementTable,
    SaidTable,
    SourceFile,
    StepTable,
    Text,
)
from service.rules.parameters import bound_faults
from service.rules.plan_files import ExerciseTable, GoalTable
from service.rules.reading import BadRuleBook, RuleFiles
from service.rules.texts import NAMED, written

SOURCE = "local_overlay"
Table = (
    RequirementTable
    | MoreHelpers
    | AccessoryTable
    | StepTable
    | SaidTable
    | GoalTable
    | ExerciseTable
)
TABLES = get_args(Table)


class SetParameter(File, frozen=True):
    """``unit`` is said again, so that a number is never taken in another one."""

    value: Decimal
    unit: str
    why: Text


class AddedNotice(File, frozen=True):
    id: Id
    text: Text


class OverlayFile(File, frozen=True):
    """A hospital's own file. ``decided_by``: who answers for it, a body or an office."""

    title: Text
    version: Id
    decided_by: Text
    parameters: dict[Id, SetParameter] = field(default_factory=dict)
    notices: tuple[AddedNotice, ...] = ()


def with_overlay(files: RuleFiles, content: bytes, name: str) -> RuleFiles:
    """``files`` with the overlay ``content`` over them; ``name`` is how its file is called in a
    fault. Raises BadRuleBook with every fault found."""
    try:
        overlay = msgspec.toml.decode(content, type=OverlayFile)
    except ValueError as fault:
        raise BadRuleBook([f"{name}: {fault}"]) from None
    faults = [f"{name}: {said}" for said in _refused(files, overlay)]
    if faults:
        raise BadRuleBook(faults)
    groups = {
        group: {
            key: _set(parameter, overlay.parameters[key])
            if key in overlay.parameters
            else parameter
            for key, parameter in tables.items()
        }
        for group, tables in files.parameter_groups.items()
    }
    added = tuple(
        SaidTable(id=each.id, text=each.text, source=SOURCE, standing=Standing.DEFAULT)
        for each in overlay.notices
    )
    told = SourceFile(
        title=overlay.title,
        body=overlay.decided_by,
        seen="primary",
        edition=overlay.version,
        note="The hospital's own settings, laid over the rule book.",
    )
    changed = frozenset(overlay.parameters)
    return replace(
        files,
        parameter_groups=groups,
        sources=files.sources | {SOURCE: told},
        methods=_cited_anew(files.methods, changed),
        moves=_cited_anew(files.moves, changed),
        plan=_cited_anew(replace(files.plan, notices=(*files.plan.notices, *added)), changed),
    )


def ref_with(ref: RuleBookRef, content: bytes) -> RuleBookRef:
    """The reference of the rule book ``ref`` under an overlay: the digest covers both."""
    summed = hashlib.sha256(f"{ref.digest}:{len(content)}:".encode() + content)
    return RuleBookRef(f"{ref.version}+local", summed.hexdigest())


def _cited_anew(content: Any, changed: frozenset[str]) -> Any:
    """Every table that holds to a changed parameter, or says it, cites the overlay: the source
    behind the old value does not stand behind the new one."""
    if isinstance(content, tuple):
        return tuple(_cited_anew(each, changed) for each in content)
    if isinstance(content, dict):
        return {key: _cited_anew(each, changed) for key, each in content.items()}
    if isinstance(content, TABLES):
        return _local(content) if changed & set(_words(content)) else content
    if isinstance(content, Struct):
        fields = {key: _cited_anew(each, changed) for key, each in asdict(content).items()}
        return replace(content, **fields)
    return content


def _local(table: Table) -> Table:
    return replace(table, source=SOURCE, standing=Standing.DEFAULT)


def _words(content: Any) -> Iterator[str]:
    """Every string inside, and every name in braces in one."""
    if isinstance(content, str):
        yield content
        yield from NAMED.findall(content)
    elif isinstance(content, tuple):
        for each in content:
            yield from _words(each)
    elif isinstance(content, Struct):
        yield from _words(tuple(asdict(content).values()))


def _refused(files: RuleFiles, overlay: OverlayFile) -> Iterator[str]:
    known = {
        key: parameter
        for tables in files.parameter_groups.values()
        for key, parameter in tables.items()
    }
    for key, wanted in overlay.parameters.items():
        if key not in known:
            yield f"parameters.{key}: no parameter is called so"
            continue
        yield from (f"parameters.{key}: {said}" for said in _may_not(known[key], wanted))
    ids = [each.id for each in files.plan.notices] + [each.id for each in overlay.notices]
    for notice in overlay.notices:
        if ids.count(notice.id) > 1:
            yield f"notices.{notice.id}: this id is taken"
        if NAMED.search(notice.text):
            yield f"notices.{notice.id}: a notice names no parameter"


def _may_not(book: Parameter, wanted: SetParameter) -> Iterator[str]:
    if wanted.unit != book.unit:
        yield f"the unit is {book.unit}, not {wanted.unit}"
        return
    if not wanted.value.is_finite() or _decimals(wanted.value) > _decimals(book.value):
        yield f"{wanted.value} is finer than {book.value}, or no number"
        return
    yield from _looser(book, wanted)
    yield from bound_faults(replace(book, value=wanted.value))


def _looser(book: Parameter, wanted: SetParameter) -> Iterator[str]:
    """A default may go either way; every other value only towards its stricter side; none to a
    side where nothing says how far."""
    if wanted.value == book.value:
        return
    higher = wanted.value > book.value
    side = "higher" if higher else "lower"
    sourced = book.standing != Standing.DEFAULT
    if sourced and book.stricter in (None, "none"):
        yield f"a {book.standing} value with no stricter side may not be changed"
    elif sourced and book.stricter != side:
        yield (
            f"{written(replace(book, value=wanted.value))} is looser than the {book.standing}"
            f" {written(book)}: only {book.stricter} values are stricter"
        )
    elif (book.highest if higher else book.lowest) is None:
        yield f"it has no bound for {side} values, so it may not be set {side}"


def _decimals(value: Decimal) -> int:
    exponent = value.normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def _set(book: Parameter, wanted: SetParameter) -> Parameter:
    was = f"Set locally: {wanted.why}. The rule book has {written(book)} ({book.source})."
    return replace(
        book,
        value=wanted.value,
        source=SOURCE,
        standing=Standing.DEFAULT,
        note=was if book.note is None else f"{was} {book.note}",
    )
