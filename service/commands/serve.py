"""How is the service started from the command line?"""

import sys
from argparse import Namespace
from pathlib import Path

from msgspec.structs import replace

from service.commands import CANNOT, DONE, WRONG_USE, Parsers, with_database
from service.settings import Auth, Settings, checked, from_environment


def add(parsers: Parsers) -> None:
    parser = parsers.add_parser("serve", help="serve until stopped")
    with_database(parser)
    parser.add_argument("--host", help="the address to listen on; else STANCHION_HOST")
    parser.add_argument("--port", type=int, help="the port; else STANCHION_PORT; 0 = any free")
    parser.add_argument(
        "--workers", type=int, help="serving processes; more than 1 on PostgreSQL only"
    )
    parser.add_argument("--auth", choices=[one.value for one in Auth], help="keys, or off")
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    settings = settings_of(args)
    # the web framework takes its time to load, and no other command needs it
    from service.app import serve
    from service.app_identity import NotOpen
    from service.rules.reading import BadRuleBook
    from service.storage.connection import StoreInUse
    from service.storage.migrate import NewerDatabase
    from service.web.tokens_issuers import BadIssuers

    try:
        return DONE if serve(settings, _say) else CANNOT
    except (NotOpen, BadIssuers) as error:
        print(error, file=sys.stderr)
        return WRONG_USE
    except (BadRuleBook, StoreInUse, NewerDatabase, OSError) as error:
        print(error, file=sys.stderr)
        return CANNOT


def _say(line: str) -> None:
    print(line, flush=True)


def settings_of(args: Namespace) -> Settings:
    """The environment's settings with what was said on the command line before them."""
    given = {
        name: value
        for name in ("host", "port", "workers", "auth", "database")
        if (value := getattr(args, name, None)) is not None
    }
    if "database" in given:
        given |= {"database": Path(given["database"]), "postgres": None}
    if "auth" in given:
        given["auth"] = Auth(given["auth"])
    return checked(replace(from_environment(file=getattr(args, "config", None)), **given))
