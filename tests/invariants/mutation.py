"""Which weakened rules does something notice, and what notices them?

Held against each weakened rule book, until one speaks: the loader; the worked examples; the
published rows, claims and method table, for everybody, as the solver proves them; the screens at
the edge of each parameter; the tables of accessories and of published norms.
"""

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import msgspec
import z3
from msgspec import Struct
from msgspec.structs import replace

from service.domain.move import Move
from service.domain.plan import RuleBookRef
from service.rules import build
from service.rules.book import MoveRules, RuleBook
from service.rules.load import HERE, freeze
from service.rules.mutate import Mutant, mutants
from service.rules.reading import BadRuleBook, RuleFiles, read_files
from tests.invariants.proofs import CLAIMS, Case
from tests.invariants.solver import Answer
from tests.published.accessory_table import wrong_accessories
from tests.published.edge_table import EDGES
from tests.published.edges import seen
from tests.published.method_proof import understaffed, unfit
from tests.published.norm_table import wrong_norms
from tests.published.worked import wrong_examples

EXPLAINED = Path(__file__).parent / "survivors.toml"
REF = RuleBookRef("mutant", "mutant")


class Caught(Struct, frozen=True):
    """A mutant and what noticed it; ``by`` null: it survived."""

    mutant: str
    by: str | None
    said: str


class Survivor(Struct, frozen=True, forbid_unknown_fields=True):
    """Mutants that nothing can notice, and why. ``same_answers``: the solver proves that every
    answer stays as it was; otherwise the reason is arithmetic."""

    why: str
    mutants: tuple[str, ...]
    same_answers: bool = False


def explained(path: Path = EXPLAINED) -> list[Survivor]:
    content: dict[str, list[Survivor]] = msgspec.toml.decode(
        path.read_bytes(), type=dict[str, list[Survivor]]
    )
    return content["survivor"]


def unexplained(caught: Iterable[Caught]) -> list[str]:
    """Survivors that no explanation names."""
    named = {name for each in explained() for name in each.mutants}
    return [each.mutant for each in caught if each.by is None and each.mutant not in named]


def outdated(caught: Iterable[Caught]) -> list[str]:
    """Explanations of what is caught by now, or is no longer a mutant."""
    survived = {each.mutant for each in caught if each.by is None}
    return [name for each in explained() for name in each.mutants if name not in survived]


def hunt(files: RuleFiles | None = None) -> Iterator[Caught]:
    """Every mutant of the rule files, and what notices it."""
    files = files or read_files(HERE)
    intact = freeze(files, REF)
    for mutant in mutants(files):
        yield noticed(intact, mutant)


def noticed(intact: RuleBook, mutant: Mutant) -> Caught:
    try:
        book = mutated(intact, mutant)
    except BadRuleBook as fault:
        return Caught(mutant.id, "the loader", fault.faults[0])
    for by, find in NOTICE:
        said = find(intact, book)
        if said:
            return Caught(mutant.id, by, said)
    return Caught(mutant.id, None, "")


def mutated(intact: RuleBook, mutant: Mutant) -> RuleBook:
    """The book of the mutant. Where only methods or moves differ, only those are made anew."""
    files = mutant.files
    if mutant.place.startswith("parameters"):
        return freeze(files, REF)
    if mutant.place.startswith("test_norms"):
        return replace(intact, norms=files.test_norms)
    parameters = {n: p for tables in files.parameter_groups.values() for n, p in tables.items()}
    methods = {n: build.method(n, file, parameters) for n, file in files.methods.items()}
    moves = {
        move: build.move(move, files.moves[move], methods, parameters) for move in intact.moves
    }
    return replace(intact, methods=methods, moves=moves)


def changed_moves(intact: RuleBook, book: RuleBook) -> list[Move]:
    """The moves on which something could be answered otherwise; one for each set of rules."""
    found: dict[bytes, Move] = {}
    for move, rules in book.moves.items():
        if _bare(rules) != _bare(intact.moves[move]):
            found.setdefault(_bare(rules), move)
    return list(found.values())


def _bare(rules: MoveRules) -> bytes:
    """What decides on a move, without names and words."""
    told = [
        (
            option.method.id,
            option.method.support,
            option.method.helpers,
            [_deciding(msgspec.to_builtins(each)) for each in option.requires],
            [_deciding(msgspec.to_builtins(each)) for each in option.more_helpers],
        )
        for option in rules.options
    ]
    return msgspec.json.encode(told)


def _deciding(told: dict[str, Any]) -> dict[str, Any]:
    without = {k: v for k, v in told.items() if k not in ("rule", "why", "citation", "parameter")}
    for inner in ("unless", "parts"):
        if isinstance(without.get(inner), dict):
            without[inner] = _deciding(without[inner])
        if isinstance(without.get(inner), list):
            without[inner] = [_deciding(each) for each in without[inner]]
    return without


def _examples(_: RuleBook, book: RuleBook) -> str:
    return "; ".join(wrong_examples(book)[:1])


def _accessories(_: RuleBook, book: RuleBook) -> str:
    return "; ".join(wrong_accessories(book)[:1])


def _norms(intact: RuleBook, book: RuleBook) -> str:
    return "" if book.norms is intact.norms else "; ".join(wrong_norms(book.norms)[:1])


def _proof(*finds: Callable[[Case], str | None]) -> Callable[[RuleBook, RuleBook], str]:
    def find(intact: RuleBook, book: RuleBook) -> str:
        for move in changed_moves(intact, book):
            case = Case(book, move)
            for each in finds:
                said = each(case)
                if said:
                    return said
        return ""

    return find


def _edges(intact: RuleBook, book: RuleBook) -> str:
    moved = {n for n, p in book.parameters.items() if p.value != intact.parameters[n].value}
    for edge in EDGES:
        if edge.parameter in moved and seen(book, edge) != edge.shows:
            return f"{edge.fields}: {seen(book, edge)} instead of {edge.shows}"
    return ""


NOTICE: tuple[tuple[str, Callable[[RuleBook, RuleBook], str]], ...] = (
    ("a worked example", _examples),
    ("a screen at an edge", _edges),
    ("the accessory table", _accessories),
    ("a published norm", _norms),
    ("the method table", _proof(unfit, understaffed)),
    ("a published row", _proof(CLAIMS["11"])),
    ("a claim", _proof(*(CLAIMS[name] for name in "12345"))),
    ("a claim on two people or two sets of means", _proof(*(CLAIMS[name] for name in "678"))),
)


def answers_differ(intact: RuleBook, book: RuleBook) -> str | None:
    """Somebody who is answered otherwise by ``book``, in words; None: every answer is the same."""
    for move in changed_moves(intact, book):
        case = Case(intact, move)
        other = Answer(book, move, case.person, case.means)
        pairs = zip(case.answer.taken, other.taken, strict=True)
        wrong = z3.Or(case.answer.helpers != other.helpers, *(a != b for a, b in pairs))
        found = case.broken_by(wrong, case.answer, other)
        if found:
            return found
    return None
