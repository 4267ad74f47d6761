"""What can be done from the command line? One module a command.

Exit codes: 0 done · 1 the check that was asked for failed · 2 wrong use or settings, or
nothing there to work on · 3 the service could not start or its file is in use.
"""

from argparse import ArgumentParser, _SubParsersAction
from pathlib import Path
from typing import Any, TypeAlias

DONE = 0
CHECK_FAILED = 1
WRONG_USE = 2
CANNOT = 3

Parsers: TypeAlias = "_SubParsersAction[ArgumentParser]"


def with_config(parser: ArgumentParser) -> None:
    parser.add_argument("--config", type=Path, help="the settings file; else STANCHION_CONFIG")


def with_database(parser: ArgumentParser) -> None:
    """The options that most commands share."""
    with_config(parser)
    parser.add_argument("--database", help="the SQLite file; else STANCHION_DATABASE")


def with_json(parser: ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON for a script")


def asdict_json(value: Any) -> str:
    import msgspec

    return msgspec.json.format(msgspec.json.encode(value), indent=2).decode()
