"""How are API keys made, listed, replaced and revoked?"""

import re
import sys
from argparse import Namespace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from service.clock import now
from service.commands import DONE, WRONG_USE, Parsers, asdict_json, with_database, with_json
from service.commands.serve import settings_of
from service.domain.scope import EVERYTHING
from service.storage.place import Place

if TYPE_CHECKING:
    from service.storage.keys import KeyInfo, NewKey

_SPAN = re.compile(r"([0-9]{1,6})([mhd])")
_UNITS = {"m": "minutes", "h": "hours", "d": "days"}
_DAYS = "how many days it is good for"


def add(parsers: Parsers) -> None:
    keys = parsers.add_parser("keys", help="API keys of organisations")
    actions = keys.add_subparsers(required=True, metavar="action")
    create = actions.add_parser("create", help="make a key; it is shown once")
    create.add_argument("name", help="who or what will use it")
    create.add_argument("--organisation", help="its id; may be left out where there is one only")
    create.add_argument("--days", type=int, help=f"{_DAYS}; else until revoked")
    create.add_argument(
        "--scope",
        action="append",
        help=f"what it may do, such as system/CarePlan.rs; repeat it; else {EVERYTHING}",
    )
    create.set_defaults(run=_create)
    listed = actions.add_parser("list", help="list keys, never their secret part")
    listed.add_argument("--organisation", help="its keys alone")
    listed.set_defaults(run=_list)
    rotate = actions.add_parser("rotate", help="replace a key; the old one ends after the overlap")
    rotate.add_argument("id", help="the key's id, from the list")
    rotate.add_argument(
        "--overlap", type=_span, default="24h", help="how long both open: 30m, 24h (default), 7d"
    )
    rotate.add_argument("--days", type=int, help=f"{_DAYS}; else as long as the old one was made")
    rotate.set_defaults(run=_rotate)
    revoke = actions.add_parser("revoke", help="revoke a key at once")
    revoke.add_argument("id", help="the key's id, from the list")
    revoke.set_defaults(run=_revoke)
    for parser in (create, listed, rotate, revoke):
        with_database(parser)
        with_json(parser)


def database_of(args: Namespace) -> Place:
    """The record that is meant, brought up to date."""
    from service.storage.migrate import migrate

    path = settings_of(args).place
    migrate(path)
    return path


def _create(args: Namespace) -> int:
    from service.storage.keys import create_key

    path = database_of(args)
    org = args.organisation or _only_organisation(path)
    if org is None:
        return _wrong("Name the organisation: --organisation, from `stanchion org list`.")
    try:
        scopes = args.scope or [EVERYTHING]
        made = create_key(path, now, org, args.name, _until(args.days), scopes)
    except (ValueError, LookupError) as error:
        return _wrong(str(error))
    return _shown_once(args, made)


def _rotate(args: Namespace) -> int:
    from service.storage.keys import rotate_key

    try:
        made = rotate_key(database_of(args), now, args.id, args.overlap, _until(args.days))
    except (ValueError, LookupError) as error:
        return _wrong(str(error))
    return _shown_once(args, made)


def _shown_once(args: Namespace, made: "NewKey") -> int:
    if args.json:
        print(asdict_json(made))
    else:
        print(f"{made.key}\n\nThis is the only time it is shown. Its id is {made.info.id}.")
    return DONE


def _list(args: Namespace) -> int:
    from service.storage.keys import list_keys

    found = list_keys(database_of(args), args.organisation)
    if args.json:
        print(asdict_json(found))
        return DONE
    for key in found:
        print(f"{key.id}  {key.prefix}…  {_state(key)}  organisation {key.org}  {key.name}")
        print(f"    {key.scopes}; {_used(key.last_used)}")
    return DONE


def _revoke(args: Namespace) -> int:
    from service.storage.keys import revoke_key

    try:
        revoked = revoke_key(database_of(args), now, args.id)
    except LookupError:
        return _wrong("No such key. `stanchion keys list` lists them.")
    print(asdict_json(revoked) if args.json else f"{revoked.id} is revoked.")
    return DONE


def _only_organisation(path: Place) -> str | None:
    from service.storage.organisations import list_organisations

    found = list_organisations(path)
    return found[0].org if len(found) == 1 else None


def _span(text: str) -> timedelta:
    found = _SPAN.fullmatch(text)
    if found is None:
        raise ValueError
    return timedelta(**{_UNITS[found[2]]: int(found[1])})


_span.__name__ = "span of time"  # how argparse calls it in its message


def _until(days: int | None) -> datetime | None:
    return None if days is None else now() + timedelta(days=days)


def _state(key: "KeyInfo") -> str:
    if key.revoked is not None:
        return "revoked"
    if key.expires is None:
        return "good until revoked"
    end = key.expires.astimezone(UTC).strftime("%Y-%m-%d %H:%M UTC")
    return f"good until {end}" if key.holds(now()) else f"ran out {end}"


def _used(last: datetime | None) -> str:
    return "never used" if last is None else f"last used on {last.astimezone(UTC).date()}"


def _wrong(said: str) -> int:
    print(said, file=sys.stderr)
    return WRONG_USE
