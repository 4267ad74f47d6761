"""How are the pages of the rule book written, and are the written ones current?"""

import sys
from argparse import Namespace
from pathlib import Path

import service
from service.commands import CHECK_FAILED, DONE, Parsers
from service.commands.rules_pages import (
    NOTICE,
    condition_page,
    method_page,
    move_page,
    norm_page,
    parameter_page,
)
from service.commands.rules_pictures import method_picture, move_picture, norm_picture
from service.rules.book import RuleBook
from service.rules.load import load_book

WRITTEN = Path(service.__file__).parent.parent / "docs" / "rules"
ROOMS = ("methods", "moves", "tests", "conditions")


def add_parser(actions: Parsers) -> None:
    docs = actions.add_parser("docs", help="write a page for each method, move, test and condition")
    docs.add_argument("--folder", type=Path, default=WRITTEN, help="where they are written")
    docs.add_argument("--check", action="store_true", help="only say whether they are current")
    docs.set_defaults(run=run)


def run(args: Namespace) -> int:
    wanted = pages(load_book())
    if args.check:
        stale = outdated(args.folder, wanted)
        for name in stale:
            print(
                f"{args.folder / name} is not current: run `stanchion rules docs`.", file=sys.stderr
            )
        return CHECK_FAILED if stale else DONE
    for name in outdated(args.folder, wanted):
        path = args.folder / name
        if name not in wanted:
            path.unlink()
            continue
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(wanted[name], encoding="utf-8")
    print(f"{len(wanted)} pages stand in {args.folder}.")
    return DONE


def outdated(folder: Path, wanted: dict[str, str]) -> list[str]:
    """Pages that are missing, differ, or belong to nothing any more."""
    found = {
        path.relative_to(folder).as_posix(): path.read_text(encoding="utf-8")
        for room in ("", *ROOMS)
        for path in (folder / room).glob("*.md")
    }
    return sorted(name for name in {*found, *wanted} if found.get(name) != wanted.get(name))


def pages(book: RuleBook) -> dict[str, str]:
    """Every page by its path inside the folder."""
    made: dict[str, list[str]] = {}
    for name, method in book.methods.items():
        made[f"methods/{name}.md"] = _drawn(method_page(book, method), method_picture(book, method))
    for move, rules in book.moves.items():
        made[f"moves/{move}.md"] = _drawn(move_page(book, rules), move_picture(book, rules))
    for name, norm in book.norms.items():
        made[f"tests/{name}.md"] = _drawn(norm_page(book, norm), norm_picture(norm))
    for condition in book.conditions:
        made[f"conditions/{condition}.md"] = condition_page(book, condition)
    made["index.md"] = _index(made)
    made["parameters.md"] = parameter_page(book)
    return {name: "\n".join(lines).rstrip() + "\n" for name, lines in sorted(made.items())}


def _drawn(page: list[str], picture: list[str]) -> list[str]:
    """The picture stands before the first part of the page."""
    at = next(place for place, line in enumerate(page) if line.startswith("## "))
    return [*page[:at], *picture, *page[at:]]


def _index(made: dict[str, list[str]]) -> list[str]:
    lines = ["# The rule book", "", NOTICE, "", "Written by `stanchion rules docs`.", ""]
    for room in ROOMS:
        names = sorted(name for name in made if name.startswith(f"{room}/"))
        links = [f"- [{made[name][0].removeprefix('# ')}]({name})" for name in names]
        lines += [f"## {room.capitalize()}", "", *links, ""]
    return [
        *lines,
        "## Numbers",
        "",
        "- [Every number, and what an overlay may set](parameters.md)",
    ]
