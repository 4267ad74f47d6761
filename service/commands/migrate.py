"""How is a database brought up to date, or made, or taken back for an earlier release?"""

import sys
from argparse import Namespace
from contextlib import nullcontext

from service.commands import CANNOT, DONE, WRONG_USE, Parsers, with_database
from service.commands.serve import settings_of


def add(parsers: Parsers) -> None:
    parser = parsers.add_parser(
        "migrate",
        help="bring the database up to date, or make it",
        description="Not while it is served by another release. Make a backup first.",
    )
    parser.add_argument(
        "--to",
        metavar="NUMBER",
        help="take it back to this schema, such as 0003, which an earlier release knows",
    )
    with_database(parser)
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    from service.storage.connection import StoreInUse, hold_lock
    from service.storage.migrate import FIRST_ON_A_SERVER, HEAD, SCHEMAS, migrate, version_of
    from service.storage.place import Server

    place, to = settings_of(args).place, args.to or HEAD
    first = FIRST_ON_A_SERVER if isinstance(place, Server) else SCHEMAS[0]
    if to not in SCHEMAS or to < first:
        print(f"There is no schema {to} here: from {first} to {HEAD}.", file=sys.stderr)
        return WRONG_USE
    try:
        with nullcontext() if version_of(place) == to else hold_lock(place):
            migrate(place, to)
    except (StoreInUse, OSError) as error:
        print(error, file=sys.stderr)
        return CANNOT
    print(f"{place} is up to date." if to == HEAD else f"{place} is at schema {to}.")
    return DONE
