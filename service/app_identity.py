"""Who may call the service that is composed, and who checks it?"""

from collections.abc import Callable, Mapping
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from service.clock import now
from service.domain.context import Setting
from service.domain.record import Principal
from service.domain.scope import EVERYTHING, granted
from service.domain.units import Units
from service.fhir.site import Site
from service.rules.book import RuleBook
from service.rules.load import load_overlaid, read_overlay
from service.rules.reading import BadRuleBook
from service.settings import Auth, Settings
from service.storage.keys import list_keys
from service.storage.organisations import Organisation, create_organisation, list_organisations
from service.storage.place import Place
from service.web.health_checks import OK, Check, Finding, Standing
from service.web.house import House, Verifier
from service.web.tokens import Tokens
from service.web.tokens_fetch import fetch_keys
from service.web.tokens_issuers import Issuer, read_issuers, refuse_strangers
from service.web.tokens_keys import IssuerKeys


class NotOpen(Exception):
    """The service would be open to others without a credential; the text says what to do."""


def trusted(settings: Settings) -> tuple[Issuer, ...]:
    """The issuers whose tokens are taken. Raises BadIssuers."""
    if settings.issuers is None:
        return ()
    issuers = read_issuers(settings.issuers)
    refuse_strangers(issuers, [one.org for one in list_organisations(settings.place)])
    return issuers


def refuse_unguarded(settings: Settings, issuers: tuple[Issuer, ...]) -> None:
    """Raises NotOpen where others than this machine could call and nobody could prove who he is."""
    if settings.loopback or issuers or _has_key(settings.place):
        return
    raise NotOpen(
        f"There is no API key yet, and no issuer of tokens, so the service does not listen on"
        f" {settings.host}. Make a key with `stanchion keys create`, name a file of issuers with"
        " STANCHION_ISSUERS, or set STANCHION_HOST to 127.0.0.1."
    )


def verifier(issuers: tuple[Issuer, ...]) -> Verifier | None:
    """What checks their tokens; None where there are none."""
    if not issuers:
        return None
    return Tokens([IssuerKeys(one, fetch_keys) for one in issuers], now)


def checks(tokens: Verifier | None) -> tuple[Check, ...]:
    """Tokens that cannot be checked are no reason to take the service from those with a key: it
    warns."""
    if tokens is None:
        return ()

    async def ask() -> Finding:
        said = "\n".join(tokens.warnings())
        return Finding(Standing.WARN, said) if said else OK

    return (Check("token_keys", ask),)


def anyone(settings: Settings) -> Principal | None:
    """Who calls when keys are switched off: the first organisation, made where there is none."""
    if settings.auth == Auth.KEYS:
        return None
    found = list_organisations(settings.place)
    first = found[0] if found else create_organisation(settings.place, now, "Local", "UTC")
    return Principal(first.org, "off", "anyone on this machine", granted(EVERYTHING))


class Own(Struct, frozen=True):
    """What an organisation set for itself: its rule book, None where it is the service's; the
    setting of a screen that does not say it."""

    book: RuleBook | None
    setting: Setting | None


def own_of(database: Place, overlay: Path | None) -> dict[str, Own]:
    """Of each organisation that set something for itself; ``overlay``: of those without their
    own. Raises BadRuleBook, which names the organisation."""
    found = {}
    for one in list_organisations(database):
        try:
            book = own_book(one, overlay)
        except BadRuleBook as bad:
            faults = [f"organisation {one.org}: {fault}" for fault in bad.faults]
            raise BadRuleBook(faults) from None
        if book is not None or one.setting is not None:
            found[one.org] = Own(book, one.setting)
    return found


def own_book(one: Organisation, overlay: Path | None) -> RuleBook | None:
    """What answers for the organisation, where that is not the service's rule book. Raises
    BadRuleBook."""
    if one.overlay is not None:
        return load_overlaid(one.overlay.content.encode(), one.overlay.name, one.units)
    if one.units == Units.SI:
        return None
    content = b"" if overlay is None else read_overlay(overlay)
    return load_overlaid(content, "" if overlay is None else overlay.name, one.units)


def with_own(house: House, found: Mapping[str, Own], site: Callable[[RuleBook], Site]) -> House:
    """``house``, with one of its own for each organisation in ``found``."""
    return replace(house, own={org: _own(house, one, site) for org, one in found.items()})


def _own(house: House, one: Own, site: Callable[[RuleBook], Site]) -> House:
    if one.book is None:
        return replace(house, site=replace(house.site, setting=one.setting))
    service = replace(house.service, book=one.book)
    return replace(house, service=service, site=replace(site(one.book), setting=one.setting))


def _has_key(database: Place) -> bool:
    moment = now()
    return any(key.holds(moment) for key in list_keys(database))
