"""How does the record move from a file to a PostgreSQL server, checked row by row?"""

import sys
from argparse import Namespace
from pathlib import Path

from service.commands import CANNOT, CHECK_FAILED, DONE, WRONG_USE, Parsers, asdict_json, with_json
from service.commands.serve import settings_of
from service.storage.place import Server


def add(parsers: Parsers) -> None:
    move = parsers.add_parser(
        "move",
        help="copy the record of a file to the PostgreSQL server of the settings",
        description="The file stays as it is. Stop the service on it first, and start it on the"
        " server afterwards.",
    )
    move.add_argument("file", type=Path, help="the SQLite file, not being served")
    with_json(move)
    move.set_defaults(run=run)


def run(args: Namespace) -> int:
    from service.storage.connection import StoreInUse, hold_lock
    from service.storage.migrate import migrate
    from service.storage.transfer import Different, Filled, transfer

    target = settings_of(args).place
    if not isinstance(target, Server):
        return _said("Name the server: STANCHION_POSTGRES, or STANCHION_POSTGRES_FILE.", WRONG_USE)
    if not args.file.is_file():
        return _said(f"There is no record at {args.file}.", WRONG_USE)
    try:
        with hold_lock(args.file):
            migrate(args.file)
            migrate(target)
            copied = transfer(args.file, target, _progress)
    except StoreInUse as error:
        return _said(str(error), CANNOT)
    except Filled:
        return _said(f"There is a record at {target} already: nothing was moved.", WRONG_USE)
    except Different:
        return _said("What came in is not what was sent: nothing was kept there.", CHECK_FAILED)
    if args.json:
        print(asdict_json(copied))
        return DONE
    for name, count in copied.rows.items():
        print(f"{name}: {count} rows, the same on both. SHA-256 {copied.digests[name]}")
    return DONE


def _progress(table: str, count: int) -> None:
    if sys.stderr.isatty():
        print(f"\r{table}: {count} rows", end="", file=sys.stderr, flush=True)


def _said(text: str, code: int) -> int:
    print(text, file=sys.stderr)
    return code
