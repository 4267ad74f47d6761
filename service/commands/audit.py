"""Is the audit trail whole: no entry changed, moved, or cut off? And how does it leave?"""

import sys
from argparse import Namespace
from pathlib import Path

from service.commands import (
    CHECK_FAILED,
    DONE,
    WRONG_USE,
    Parsers,
    asdict_json,
    audit_export,
    with_database,
    with_json,
)
from service.commands.serve import settings_of


def add(parsers: Parsers) -> None:
    audit = parsers.add_parser("audit", help="the audit trail")
    actions = audit.add_subparsers(required=True, metavar="action")
    verify = actions.add_parser("verify", help="recompute every chain and compare with the seals")
    verify.add_argument(
        "--seals",
        type=Path,
        help="seals held elsewhere: a backup's manifest, or the service's log with its seal lines",
    )
    with_database(verify)
    with_json(verify)
    verify.set_defaults(run=run)
    audit_export.add_parser(actions)


def run(args: Namespace) -> int:
    from service.storage.held_seals import held_seals
    from service.storage.place import exists
    from service.storage.verify import verify_audit

    path = settings_of(args).place
    if not exists(path):
        print(f"There is no database at {path}.", file=sys.stderr)
        return WRONG_USE
    try:
        held = () if args.seals is None else held_seals(args.seals.read_text(encoding="utf-8"))
    except OSError as error:
        print(error, file=sys.stderr)
        return WRONG_USE
    if args.seals is not None and not held:
        print(f"There is no seal in {args.seals}.", file=sys.stderr)
        return WRONG_USE
    report = verify_audit(path, held)
    if args.json:
        print(asdict_json(report))
    else:
        for fault in report.faults:
            where = "" if fault.seq is None else f", chain {fault.chain}, entry {fault.seq}"
            print(f"{fault.kind}: {fault.text} (organisation {fault.org}{where})")
        if report.more:
            print(f"… and {report.more} faults more.")
        said = "whole" if report.sound else "NOT whole"
        print(f"{report.entries} entries, {report.seals} seals: the audit trail is {said}.")
    return DONE if report.sound else CHECK_FAILED
