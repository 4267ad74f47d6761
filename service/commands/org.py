"""How are organisations made, listed, shown and set?"""

import sys
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from service.clock import now
from service.commands import (
    CHECK_FAILED,
    DONE,
    WRONG_USE,
    Parsers,
    asdict_json,
    with_database,
    with_json,
)
from service.commands.keys import database_of
from service.commands.serve import settings_of
from service.domain.context import Setting
from service.domain.units import Units

if TYPE_CHECKING:
    from service.storage.documents import Overlay
    from service.storage.organisations import Organisation

RESTART = "A service that runs takes this up when it is started anew."


def add(parsers: Parsers) -> None:
    org = parsers.add_parser("org", help="organisations: whose patients are kept apart")
    actions = org.add_subparsers(required=True, metavar="action")
    create = actions.add_parser("create", help="make one; prints its id")
    create.add_argument("name")
    create.add_argument("--time-zone", default="UTC", help="such as Europe/Dublin")
    create.set_defaults(run=_create)
    listed = actions.add_parser("list", help="list them")
    listed.set_defaults(run=_list)
    show = actions.add_parser("show", help="show one, and the rule book that answers for it")
    show.add_argument("id", help="its id, from the list")
    show.set_defaults(run=_show)
    change = actions.add_parser(
        "set", help="change its name, time zone, setting, units or own numbers"
    )
    change.add_argument("id", help="its id, from the list")
    change.add_argument("--name")
    change.add_argument("--time-zone", help="such as Europe/Dublin")
    change.add_argument(
        "--setting",
        choices=[*map(str, Setting), "unsaid"],
        help="of a screen that does not say it; unsaid: that is acute",
    )
    change.add_argument(
        "--units", choices=[*Units], help="of what people read; us: pounds beside kilograms"
    )
    overlay = change.add_mutually_exclusive_group()
    overlay.add_argument("--overlay", type=Path, help="its own file over the rule book; it is kept")
    overlay.add_argument("--no-overlay", action="store_true", help="the rule book as it is")
    change.set_defaults(run=_set)
    for parser in (create, listed, show, change):
        with_database(parser)
        with_json(parser)


def _create(args: Namespace) -> int:
    from service.storage.organisations import create_organisation

    try:
        made = create_organisation(database_of(args), now, args.name, args.time_zone)
    except ValueError as error:
        return _wrong(error)
    print(asdict_json(made) if args.json else made.org)
    return DONE


def _list(args: Namespace) -> int:
    from service.storage.organisations import list_organisations

    found = list_organisations(database_of(args))
    if args.json:
        print(asdict_json(found))
        return DONE
    for one in found:
        own = "" if one.overlay is None else f"  (own numbers: {one.overlay.name})"
        print(f"{one.org}  {one.time_zone}  {one.name}{own}")
    return DONE


def _show(args: Namespace) -> int:
    from service.storage.organisations import read_organisation

    try:
        found = read_organisation(database_of(args), args.id)
    except LookupError as error:
        return _wrong(error)
    return _told(args, found)


def _set(args: Namespace) -> int:
    from service.rules.reading import BadRuleBook
    from service.storage.organisations import read_organisation, set_organisation

    path = database_of(args)
    try:
        found = read_organisation(path, args.id)
        changed = replace(
            found,
            name=found.name if args.name is None else args.name,
            time_zone=args.time_zone or found.time_zone,
            overlay=_overlay(args, found),
            setting=_setting(args, found),
            units=found.units if args.units is None else Units(args.units),
        )
        kept = set_organisation(path, now, changed)
    except (LookupError, ValueError) as error:
        return _wrong(error)
    except BadRuleBook as bad:
        print("\n".join(bad.faults), file=sys.stderr)
        return CHECK_FAILED
    if not args.json:
        print(RESTART)
    return _told(args, kept)


def _overlay(args: Namespace, found: "Organisation") -> "Overlay | None":
    """What the organisation is to have, checked. Raises BadRuleBook, ValueError."""
    from service.rules.load import load_overlaid, read_overlay
    from service.storage.documents import Overlay

    if args.no_overlay:
        return None
    if args.overlay is None:
        return found.overlay
    content = read_overlay(args.overlay)
    load_overlaid(content, args.overlay.name)
    return Overlay(args.overlay.name, content.decode())


def _setting(args: Namespace, found: "Organisation") -> Setting | None:
    if args.setting is None:
        return found.setting
    return None if args.setting == "unsaid" else Setting(args.setting)


def _told(args: Namespace, one: "Organisation") -> int:
    from service.app_identity import own_book
    from service.rules.load import load_book

    overlay = settings_of(args).rules_overlay
    ref = (own_book(one, overlay) or load_book(overlay)).ref
    if args.json:
        print(asdict_json({"organisation": one, "rule_book": ref}))
        return DONE
    print(f"id         {one.org}\nname       {one.name}\ntime zone  {one.time_zone}")
    print(f"overlay    {one.overlay.name if one.overlay else 'none of its own'}")
    print(f"setting    {one.setting or 'acute'}, where a screen does not say it")
    print(f"units      {one.units}")
    print(f"rule book  {ref.version}, digest {ref.digest}")
    return DONE


def _wrong(error: Exception) -> int:
    print(str(error), file=sys.stderr)
    return WRONG_USE
