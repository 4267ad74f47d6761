"""Is the rule book sound, and does anything stand in it for nothing?"""

from argparse import Namespace
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import asdict

from service.commands import CHECK_FAILED, DONE, Parsers, asdict_json, with_json
from service.domain.axis import RANK
from service.domain.requirement import Absent, AnyOf, Limit, Need, Requirement
from service.rules.book import MoveRules, RuleBook
from service.rules.load import HERE, freeze, read_with
from service.rules.reach import reaches
from service.rules.reading import BadRuleBook, RuleFiles
from service.rules.texts import spoken
from service.rules.vocabulary import READ_IN_CODE


def add_parser(actions: Parsers) -> None:
    check = actions.add_parser("check", help="say what is wrong or idle in the rule book")
    check.add_argument(
        "path", nargs="?", type=Path, default=HERE, help="another rule book's folder"
    )
    check.add_argument("--overlay", type=Path, help="a hospital's own file, laid over the book")
    with_json(check)
    check.set_defaults(run=run)


def run(args: Namespace) -> int:
    faults: list[str] = []
    warnings: list[str] = []
    try:
        files, ref = read_with(args.path, args.overlay)
        book = freeze(files, ref)
        faults = list(idle(files, book))
        warnings = list(doubtful(files, book))
    except BadRuleBook as bad:
        faults = list(bad.faults)
    if args.json:
        print(asdict_json({"faults": faults, "warnings": warnings}))
    else:
        for said in faults:
            print(f"fault: {said}")
        for said in warnings:
            print(f"warning: {said}")
        print(f"{len(faults)} faults, {len(warnings)} warnings")
    return CHECK_FAILED if faults else DONE


def idle(files: RuleFiles, book: RuleBook) -> Iterator[str]:
    """Whatever could be taken away and no answer would change."""
    named = set(_strings(files)) | spoken(files) | set(READ_IN_CODE)
    for name in sorted(set(book.parameters) - named):
        yield f"parameters: nothing uses `{name}`"
    found = [each for move in book.moves.values() for each in reaches(move)]
    for name in sorted(set(book.methods) - {each.method for each in found if each.ever}):
        yield f"methods/{name}: no move ever chooses it, whoever is moved and whatever is at hand"
    for place, one, other in _pairs(book):
        if _owner(one) == _owner(other) and (implies(one, other) or implies(other, one)):
            yield f"{place}: of `{one.rule}` and `{other.rule}` one asks what the other asks"
    for move in book.moves.values():
        yield from _same_helpers(move)


def doubtful(files: RuleFiles, book: RuleBook) -> Iterator[str]:
    """What may be meant, and should be looked at."""
    for name in sorted(set(book.sources) - set(_cited(files))):
        yield f"sources/{name}: nobody cites it"
    for move in book.moves.values():
        for each in reaches(move):
            if each.before and each.ever:
                first = ", ".join(each.before)
                yield f"moves/{move.move}: {each.method} is chosen only for want of {first}"
            elif each.before:
                yield f"moves/{move.move}: {each.method} is never chosen"
    for place, one, other in _pairs(book):
        if _owner(one) != _owner(other) and implies(one, other) and implies(other, one):
            yield f"{place}: `{one.rule}` and `{other.rule}` ask the same"


def _pairs(book: RuleBook) -> Iterator[tuple[str, Requirement, Requirement]]:
    for move in book.moves.values():
        for option in move.options:
            for one, other in combinations(option.requires, 2):
                yield f"moves/{move.move} with {option.method.id}", one, other


def _owner(requirement: Requirement) -> str:
    """The file that asks. A move may ask more of a method than the method does, or less."""
    return requirement.rule.partition(".")[0]


def _same_helpers(move: MoveRules) -> Iterator[str]:
    for option in move.options:
        for first, second in combinations(option.more_helpers, 2):
            same = (first.at_least, first.add) == (second.at_least, second.add)
            if same and _bare(first.unless) == _bare(second.unless):
                place = f"moves/{move.move} with {option.method.id}"
                yield f"{place}: `{first.rule}` and `{second.rule}` are the same helpers"


def implies(one: Requirement, other: Requirement) -> bool:
    """Whoever meets ``one`` meets ``other`` too."""
    if isinstance(one, AnyOf):
        return all(implies(part, other) for part in one.parts)
    if isinstance(other, AnyOf):
        return any(implies(one, part) for part in other.parts)
    if isinstance(one, Need) and isinstance(other, Need):
        rank = RANK[one.axis]
        return one.axis == other.axis and rank[one.grade] >= rank[other.grade]
    if isinstance(one, Limit) and isinstance(other, Limit):
        return _within(one, other)
    if isinstance(one, Absent) and isinstance(other, Absent):
        return one.condition == other.condition
    return False


def _within(one: Limit, other: Limit) -> bool:
    if one.number != other.number:
        return False
    if "at_least" in (one.comparison, other.comparison):
        return one.comparison == other.comparison and one.value >= other.value
    if (one.comparison, other.comparison) == ("at_most", "below"):
        return one.value < other.value
    return one.value <= other.value


def _bare(unless: Requirement | None) -> tuple[object, ...]:
    """What is asked, without where it is said and why."""
    if unless is None:
        return ()
    if isinstance(unless, AnyOf):
        return tuple(_bare(part) for part in unless.parts)
    content = asdict(unless)
    return tuple(content[key] for key in content if key not in ("rule", "why", "citation"))


def _strings(content: Any) -> Iterator[str]:
    """Every name in the files that is not a name of a parameter's own table."""
    for room in ("methods", "moves", "conditions", "plan", "test_norms"):
        yield from (each for each in _walk(getattr(content, room)) if isinstance(each, str))


def _cited(files: RuleFiles) -> Iterator[str]:
    for each in _walk(files):
        if isinstance(each, Struct):
            source = getattr(each, "source", None)
            if isinstance(source, str):
                yield source


def _walk(content: Any) -> Iterator[Any]:
    yield content
    inside: tuple[Any, ...] = ()
    if isinstance(content, Struct):
        inside = tuple(asdict(content).values())
    elif isinstance(content, dict):
        inside = tuple(content.values())
    elif isinstance(content, tuple):
        inside = content
    for each in inside:
        yield from _walk(each)
