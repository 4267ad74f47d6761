"""What does the rule book say about one method, move, test or condition?"""

import sys
import textwrap
from argparse import Namespace

from service.commands import DONE, WRONG_USE, Parsers
from service.commands.rules_pages import condition_page, method_page, move_page, norm_page
from service.domain.condition import Condition
from service.domain.move import Move
from service.rules.book import RuleBook
from service.rules.load import load_book

WIDTH = 100


def add_parser(actions: Parsers) -> None:
    show = actions.add_parser("show", help="print what is ruled about one thing, with sources")
    show.add_argument("name", help="a method, move, test or condition")
    show.set_defaults(run=run)


def run(args: Namespace) -> int:
    lines = page(load_book(), args.name)
    if lines is None:
        print(f"No method, move, test or condition is called {args.name}.", file=sys.stderr)
        return WRONG_USE
    print("\n".join(wrapped(lines)))
    return DONE


def page(book: RuleBook, name: str) -> list[str] | None:
    if name in book.methods:
        return method_page(book, book.methods[name])
    if name in set(Move):
        return move_page(book, book.moves[Move(name)])
    if name in book.norms:
        return norm_page(book, book.norms[name])
    if name in set(Condition):
        return condition_page(book, Condition(name))
    return None


def wrapped(lines: list[str]) -> list[str]:
    """The lines without their signs of Markdown headings, none wider than the page."""
    told: list[str] = []
    for line in lines:
        hang = "  " if line.startswith("- ") else ""
        told += textwrap.wrap(line.lstrip("# "), WIDTH, subsequent_indent=hang) or [""]
    return told
