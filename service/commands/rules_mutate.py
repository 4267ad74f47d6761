"""Does something notice each rule that is weakened by one step?

A command for a checkout: what notices stands in its tests, and needs the development dependencies.
"""

import importlib
import sys
from argparse import Namespace
from collections import Counter
from pathlib import Path
from typing import Any

from service.commands import CHECK_FAILED, DONE, WRONG_USE, Parsers, asdict_json, with_json

CHECKOUT = Path(__file__).parents[2]
TESTS = "tests.invariants.mutation"


def add_parser(actions: Parsers) -> None:
    mutate = actions.add_parser("mutate", help="weaken every rule by a step; see what notices")
    with_json(mutate)
    mutate.set_defaults(run=run)


def run(args: Namespace) -> int:
    if not (CHECKOUT / "tests" / "invariants").is_dir():
        return _refused(
            "It works only from a checkout: what notices a weakened rule are its tests."
        )
    if str(CHECKOUT) not in sys.path:
        sys.path.insert(0, str(CHECKOUT))
    try:
        tests: Any = importlib.import_module(TESTS)
    except ModuleNotFoundError as missing:
        return _refused(f"It needs the development dependencies; {missing.name} is not installed.")
    caught = list(tests.hunt())
    unexplained, outdated = tests.unexplained(caught), tests.outdated(caught)
    if args.json:
        told = {"mutants": caught, "unexplained": unexplained, "outdated": outdated}
        print(asdict_json(told))
    else:
        _print(caught, unexplained, outdated)
    return CHECK_FAILED if unexplained or outdated else DONE


def _refused(why: str) -> int:
    print(why, file=sys.stderr)
    return WRONG_USE


def _print(caught: list[Any], unexplained: list[str], outdated: list[str]) -> None:
    for each in caught:
        print(f"{each.mutant} | {each.by or 'SURVIVED'}")
    print()
    for by, count in Counter(each.by or "survived" for each in caught).most_common():
        print(f"{count:5} {by}")
    for name in unexplained:
        print(f"Nothing notices, and nothing explains: {name}")
    for name in outdated:
        print(f"Explained, but noticed or gone: {name}")
