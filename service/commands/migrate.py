"""How is a database file brought up to date, or made?"""

from argparse import Namespace

from service.commands import DONE, Parsers, with_database
from service.commands.serve import settings_of


def add(parsers: Parsers) -> None:
    parser = parsers.add_parser("migrate", help="bring the database up to date, or make it")
    with_database(parser)
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    from service.storage.migrate import migrate

    path = settings_of(args).place
    migrate(path)
    print(f"{path} is up to date.")
    return DONE
