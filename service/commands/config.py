"""How does an operator see what is set, where it comes from, and whether it can be used?"""

import os
import sys
from argparse import Namespace
from collections.abc import Iterator
from enum import Enum
from pathlib import Path
from typing import Any

from service.commands import CHECK_FAILED, DONE, Parsers, config_docs, with_config, with_json
from service.settings import Settings, sourced
from service.settings_sources import DEFAULT, PREFIX, Known, known
from service.storage.place import Server

MASKED = "********"


def add(parsers: Parsers) -> None:
    config = parsers.add_parser("config", help="what is set, and where it comes from")
    actions = config.add_subparsers(required=True, metavar="action")
    show = actions.add_parser("show", help="every setting with its value and its source")
    show.set_defaults(run=_show)
    check = actions.add_parser("check", help="can the service start with these settings?")
    check.set_defaults(run=_check)
    config_docs.add_parser(actions)
    for parser in (show, check):
        with_config(parser)
        with_json(parser)


def _show(args: Namespace) -> int:
    from service.commands import asdict_json

    settings, sources = sourced(file=args.config)
    rows = list(shown(settings, sources))
    if args.json:
        print(
            asdict_json([dict(zip(("name", "value", "source"), row, strict=True)) for row in rows])
        )
        return DONE
    width = max(len(name) for name, _, _ in rows)
    for name, value, source in rows:
        print(f"{name:<{width}}  {value}  ({source})")
    return DONE


def _check(args: Namespace) -> int:
    from service.commands import asdict_json

    settings, _ = sourced(file=args.config)
    faults = list(missing(settings))
    if args.json:
        print(asdict_json({"faults": faults}))
    elif faults:
        print("\n".join(faults), file=sys.stderr)
    else:
        print("The settings can be used.")
    return CHECK_FAILED if faults else DONE


def shown(settings: Settings, sources: dict[str, str]) -> Iterator[tuple[str, str, str]]:
    """Name, value and source of every setting; secrets masked."""
    for name, one in known(Settings).items():
        value = told(getattr(settings, name), one)
        yield f"{PREFIX}{name.upper()}", value, sources.get(name, DEFAULT)


def told(value: Any, one: Known) -> str:
    """A value as it would be set; a secret never."""
    if value is None:
        return ""
    if one.secret:
        return MASKED
    if isinstance(value, tuple):
        return ",".join(value)
    return str(value.value if isinstance(value, Enum) else value)


def missing(settings: Settings) -> Iterator[str]:
    """What a setting names and is not there, or cannot be used."""
    for name in known(Settings):
        value = getattr(settings, name)
        if name != "database" and isinstance(value, Path) and not os.access(value, os.R_OK):
            yield f"{PREFIX}{name.upper()}: {value} cannot be read."
    folder = settings.database.resolve().parent
    if settings.postgres is None and not os.access(folder, os.W_OK):
        yield f"{PREFIX}DATABASE: {folder} is not there, or cannot be written."
    from importlib.util import find_spec

    if isinstance(settings.place, Server):
        if find_spec("psycopg") is None:
            yield f"{PREFIX}POSTGRES: install the extra `postgres` first."
        else:
            from service.storage.postgres.roles import faults_of

            for name, fault in faults_of(settings.place):
                yield f"{PREFIX}{name.upper()}: {fault}"
    if settings.traces is not None and find_spec("opentelemetry") is None:
        yield f"{PREFIX}TRACES: install the extra `traces` first."
