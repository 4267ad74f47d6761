"""What was asked for on the command line?

Exit codes: 0 done · 1 the check that was asked for failed · 2 wrong use or settings · 3 the
service could not start, its file is in use, or its server cannot be used.
"""

import os
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence

from service import __version__
from service.commands import (
    CANNOT,
    DONE,
    WRONG_USE,
    Parsers,
    audit,
    backup,
    config,
    erase,
    fhir,
    keys,
    migrate,
    move,
    openapi,
    org,
    rules_check,
    rules_docs,
    rules_mutate,
    rules_show,
    serve,
)
from service.settings import SettingsError
from service.storage.migrate import NewerDatabase
from service.storage.place import refusal


def main(argv: Sequence[str] | None = None) -> int:
    args = parser().parse_args(argv)
    try:
        code: int = args.run(args)
        sys.stdout.flush()
    except SettingsError as error:
        print(error, file=sys.stderr)
        return WRONG_USE
    except BrokenPipeError:
        return _unheard()
    except NewerDatabase as error:
        print(error, file=sys.stderr)
        return CANNOT
    except Exception as error:
        said = refusal(error)
        if said is None:
            raise
        print(said, file=sys.stderr)
        return CANNOT
    return code


def _unheard() -> int:
    """Whoever reads has heard enough, as ``head`` has: what was asked for is done, and nothing
    more is said, at the end of the process neither."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return DONE


def parser() -> ArgumentParser:
    whole = ArgumentParser(
        prog="stanchion",
        description="A bedside mobility screen in, a sourced plan for every move out.",
        epilog="Exit codes: 0 done, 1 a check failed, 2 wrong use or settings, 3 cannot start.",
    )
    whole.add_argument("--version", action="version", version=__version__)
    commands = whole.add_subparsers(required=True, metavar="command")
    for module in (serve, migrate, move, org, keys, openapi, audit, backup, erase, config, fhir):
        module.add(commands)
    _add_rules(commands)
    _add_demo(commands)
    version = commands.add_parser("version", help="print the version")
    version.set_defaults(run=_version)
    return whole


def _add_rules(commands: Parsers) -> None:
    rules = commands.add_parser("rules", help="the rule book")
    actions = rules.add_subparsers(required=True, metavar="action")
    for module in (rules_check, rules_docs, rules_mutate, rules_show):
        module.add_parser(actions)


def _add_demo(commands: Parsers) -> None:
    demo = commands.add_parser("demo", help="serve on loopback with a scenario of its own")
    demo.add_argument("--once", action="store_true", help="compare with the samples, then end")
    demo.add_argument("--port", type=int, help="the port; a free one where it is taken")
    demo.add_argument("--write-samples", metavar="DIR", help="write the answers to DIR's samples")
    demo.set_defaults(run=_demo)


def _demo(args: Namespace) -> int:
    from service.demo import run

    return run(args)


def _version(_args: Namespace) -> int:
    print(__version__)
    return DONE


if __name__ == "__main__":
    sys.exit(main())
