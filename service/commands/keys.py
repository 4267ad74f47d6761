"""How are organisations and their API keys made, listed and revoked?"""

import sys
from argparse import Namespace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from service.clock import now
from service.commands import DONE, WRONG_USE, Parsers, asdict_json, with_database, with_json
from service.commands.serve import settings_of


def add(parsers: Parsers) -> None:
    keys = parsers.add_parser("keys", help="API keys, and the organisations they belong to")
    actions = keys.add_subparsers(required=True, metavar="action")
    create = actions.add_parser("create", help="make a key; it is shown once")
    create.add_argument("name", help="who or what will use it")
    create.add_argument("--organisation", help="its id; may be left out where there is one only")
    create.add_argument("--days", type=int, help="how long it is good for; else until revoked")
    create.set_defaults(run=_create)
    listed = actions.add_parser("list", help="list keys, never their secret part")
    listed.set_defaults(run=_list)
    revoke = actions.add_parser("revoke", help="revoke a key at once")
    revoke.add_argument("id", help="the key's id, from the list")
    revoke.set_defaults(run=_revoke)
    organisation = actions.add_parser("organisation", help="make an organisation")
    organisation.add_argument("name")
    organisation.add_argument("--time-zone", default="UTC", help="such as Europe/Dublin")
    organisation.set_defaults(run=_organisation)
    organisations = actions.add_parser("organisations", help="list organisations")
    organisations.set_defaults(run=_organisations)
    for parser in (create, listed, revoke, organisation, organisations):
        with_database(parser)
        with_json(parser)


def _create(args: Namespace) -> int:
    from service.storage.keys import create_key

    path = _database(args)
    org = args.organisation or _only_organisation(path)
    if org is None:
        return _wrong("Name the organisation: --organisation, from `stanchion keys organisations`.")
    expires = None if args.days is None else now() + timedelta(days=args.days)
    try:
        made = create_key(path, now, org, args.name, expires)
    except (ValueError, LookupError) as error:
        return _wrong(str(error))
    if args.json:
        print(asdict_json(made))
    else:
        print(f"{made.key}\n\nThis is the only time it is shown. Its id is {made.info.id}.")
    return DONE


def _list(args: Namespace) -> int:
    from service.storage.keys import list_keys

    found = list_keys(_database(args))
    if args.json:
        print(asdict_json(found))
        return DONE
    for key in found:
        state = "revoked" if key.revoked else _until(key.expires)
        print(f"{key.id}  {key.prefix}…  {state}  organisation {key.org}  {key.name}")
    return DONE


def _revoke(args: Namespace) -> int:
    from service.storage.keys import revoke_key

    try:
        revoked = revoke_key(_database(args), now, args.id)
    except LookupError:
        return _wrong("No such key. `stanchion keys list` lists them.")
    print(asdict_json(revoked) if args.json else f"{revoked.id} is revoked.")
    return DONE


def _organisation(args: Namespace) -> int:
    from service.storage.organisations import create_organisation

    try:
        made = create_organisation(_database(args), now, args.name, args.time_zone)
    except ValueError as error:
        return _wrong(str(error))
    print(asdict_json(made) if args.json else made.org)
    return DONE


def _organisations(args: Namespace) -> int:
    from service.storage.organisations import list_organisations

    found = list_organisations(_database(args))
    if args.json:
        print(asdict_json(found))
        return DONE
    for one in found:
        print(f"{one.org}  {one.time_zone}  {one.name}")
    return DONE


def _database(args: Namespace) -> Path:
    from service.storage.migrate import migrate

    path = settings_of(args).database
    migrate(path)
    return path


def _only_organisation(path: Path) -> str | None:
    from service.storage.organisations import list_organisations

    found = list_organisations(path)
    return found[0].org if len(found) == 1 else None


def _until(expires: datetime | None) -> str:
    if expires is None:
        return "good until revoked"
    day = expires.astimezone(UTC).date()
    return f"good until {day}" if expires > now() else f"ran out on {day}"


def _wrong(said: str) -> int:
    print(said, file=sys.stderr)
    return WRONG_USE
