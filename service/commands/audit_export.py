"""How does the audit trail leave as FHIR AuditEvents, one a line, for whoever collects them?"""

import os
import sys
from argparse import Namespace
from contextlib import nullcontext
from datetime import UTC, datetime
from pathlib import Path
from typing import IO

from service.clock import now
from service.commands import CANNOT, DONE, WRONG_USE, Parsers, with_database
from service.commands.serve import settings_of


def add_parser(actions: Parsers) -> None:
    export = actions.add_parser(
        "export",
        help="write an organisation's trail as FHIR AuditEvents, one a line (NDJSON)",
        description="Oldest first. That it was exported is noted in the trail.",
    )
    export.add_argument("--organisation", required=True, help="its id")
    export.add_argument("--since", metavar="DATE", help="noted at or after; else from the start")
    export.add_argument("--until", metavar="DATE", help="noted at or before; else to the end")
    export.add_argument(
        "--output", type=Path, metavar="FILE", help="a new file; else standard output"
    )
    with_database(export)
    export.set_defaults(run=run)


def run(args: Namespace) -> int:
    from service.storage.place import exists

    settings = settings_of(args)
    if not exists(settings.place):
        return _said(f"There is no database at {settings.place}.", WRONG_USE)
    try:
        low, high = _moment(args.since), _moment(args.until)
    except ValueError:
        return _said("Say a date or a time, such as 2026-03-04 or 2026-03-04T08:15:00Z.", WRONG_USE)
    try:
        return _exported(args, low, high)
    except LookupError as error:
        return _said(error.args[0], WRONG_USE)
    except OSError as error:
        return _said(str(error), CANNOT)


def _exported(args: Namespace, low: datetime | None, high: datetime | None) -> int:
    """Never more of the trail in memory than one stretch of it. Raises LookupError, OSError."""
    from service.app_fhir import site_for
    from service.fhir.audit_event import audit_event_of
    from service.fhir.encode import bytes_of
    from service.rules.load import load_book
    from service.storage.connection import short_read
    from service.storage.trail import all_entries, note_export

    settings = settings_of(args)
    site = site_for(settings, load_book(settings.rules_overlay))
    to = nullcontext(sys.stdout.buffer) if args.output is None else _private(args.output)
    count = 0
    with to as stream:
        note_export(settings.place, now, args.organisation)
        with short_read(settings.place) as connection:
            for noted in all_entries(connection, args.organisation, low, high):
                stream.write(bytes_of(audit_event_of(site, noted)) + b"\n")
                count += 1
        stream.flush()
    if args.output is not None:
        print(f"{count} entries.")
    return DONE


def _private(path: Path) -> IO[bytes]:
    """A new file for its owner's eyes. Raises OSError."""
    return os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb")


def _moment(said: str | None) -> datetime | None:
    """A date or a time; where no offset is said, UTC. Raises ValueError."""
    if said is None:
        return None
    moment = datetime.fromisoformat(said)
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


def _said(text: str, code: int) -> int:
    print(text, file=sys.stderr)
    return code
