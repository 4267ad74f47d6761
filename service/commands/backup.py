"""How is the record backed up while it is served, and put back?"""

import sys
from argparse import Namespace
from pathlib import Path

from service.clock import now
from service.commands import (
    CANNOT,
    CHECK_FAILED,
    DONE,
    WRONG_USE,
    Parsers,
    asdict_json,
    with_database,
    with_json,
)
from service.commands.serve import settings_of


def add(parsers: Parsers) -> None:
    made = parsers.add_parser("backup", help="copy the record while it is served, and check it")
    made.add_argument("file", type=Path, help="where the copy goes; its manifest goes beside it")
    made.set_defaults(run=_back_up)
    put_back = parsers.add_parser("restore", help="check a backup and put it in place")
    put_back.add_argument("file", type=Path, help="the copy; its manifest stands beside it")
    put_back.add_argument(
        "--replace", action="store_true", help="also where a record is there already: it is lost"
    )
    put_back.set_defaults(run=_restore)
    for parser in (made, put_back):
        with_database(parser)
        with_json(parser)


def _back_up(args: Namespace) -> int:
    from service.storage.backup import BadBackup, back_up

    path = settings_of(args).place
    try:
        manifest = back_up(path, now, args.file)
    except (FileNotFoundError, FileExistsError) as error:
        return _said(error, WRONG_USE)
    except BadBackup as error:
        return _said(error, CHECK_FAILED)
    except OSError as error:
        return _said(error, CANNOT)
    if args.json:
        print(asdict_json(manifest))
    else:
        print(f"{args.file}: {_rows(manifest.rows)}, checked. SHA-256 {manifest.sha256}")
    return DONE


def _restore(args: Namespace) -> int:
    from service.storage.backup import BadBackup, restore
    from service.storage.connection import StoreInUse

    path = settings_of(args).place
    try:
        manifest = restore(args.file, now, path, replace=args.replace)
    except BadBackup as error:
        return _said(error, CHECK_FAILED)
    except (FileNotFoundError, FileExistsError) as error:
        return _said(error, WRONG_USE)
    except (StoreInUse, OSError) as error:
        return _said(error, CANNOT)
    if args.json:
        print(asdict_json(manifest))
    else:
        print(f"{path}: {_rows(manifest.rows)}, as of {manifest.made_at.isoformat()}.")
    return DONE


def _rows(rows: dict[str, int]) -> str:
    return f"{rows.get('screen', 0)} screens, {rows.get('plan', 0)} plans"


def _said(error: Exception, code: int) -> int:
    print(error, file=sys.stderr)
    return code
