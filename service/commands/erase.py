"""How is all that is kept of a patient, or of those not seen for long, taken away for good?"""

import sys
from argparse import Namespace
from datetime import UTC, datetime

from service.clock import now
from service.commands import DONE, WRONG_USE, Parsers, asdict_json, with_database, with_json
from service.commands.serve import settings_of
from service.storage.place import Server

_IN_A_FILE = "Somebody is reading: the freed bytes leave the log at its next checkpoint."
_ON_A_SERVER = (
    "The server writes over the freed bytes once it has vacuumed its tables and done with its log;"
    " an archive of the log keeps them until its end."
)


def add(parsers: Parsers) -> None:
    erase = parsers.add_parser(
        "erase",
        help="take a patient's records away for good; the audit trail stays",
        description="Older backups still hold what is erased here: they have an end of their own.",
    )
    erase.add_argument("--organisation", required=True, help="its id")
    whom = erase.add_mutually_exclusive_group(required=True)
    whom.add_argument("--patient", help="the patient's id in this service, never a hospital number")
    whom.add_argument("--unseen-since", metavar="DATE", help="all with nothing recorded since then")
    erase.add_argument(
        "--yes", action="store_true", help="do it; without, only say who it would be"
    )
    with_database(erase)
    with_json(erase)
    erase.set_defaults(run=run)


def run(args: Namespace) -> int:
    from service.storage.erase import erase_patient, unseen_since

    path = settings_of(args).place
    try:
        patients: tuple[str, ...] = (args.patient,)
        if args.unseen_since is not None:
            patients = unseen_since(path, args.organisation, _moment(args.unseen_since))
        if not args.yes:
            return _would(args, patients)
        erased = [erase_patient(path, now, args.organisation, each) for each in patients]
    except (LookupError, ValueError, FileNotFoundError) as error:
        print(error.args[0], file=sys.stderr)
        return WRONG_USE
    if args.json:
        print(asdict_json(erased))
        return DONE
    for each in erased:
        print(f"{each.patient}: {each.rows['screen']} screens, {each.rows['plan']} plans erased.")
    if erased and not erased[-1].overwritten:
        print(_ON_A_SERVER if isinstance(path, Server) else _IN_A_FILE)
    print(f"{len(erased)} erased.")
    return DONE


def _would(args: Namespace, patients: tuple[str, ...]) -> int:
    if args.json:
        print(asdict_json(patients))
        return DONE
    for each in patients:
        print(each)
    print(f"{len(patients)} would be erased: say --yes to do it.")
    return DONE


def _moment(said: str) -> datetime:
    """A date or a time; where no offset is said, UTC."""
    moment = datetime.fromisoformat(said)
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
