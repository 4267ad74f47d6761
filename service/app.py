"""How is everything composed, and how does it serve?"""

import signal
import socket
from collections.abc import Callable

import uvicorn
from msgspec.structs import replace

from service.application.service import Service
from service.clock import now
from service.domain.record import Principal
from service.domain.scope import EVERYTHING, granted
from service.fhir.site import site_of
from service.rules.load import load_book
from service.settings import Auth, Settings, checked
from service.storage.ids import TimeOrderedIds
from service.storage.keys import list_keys
from service.storage.migrate import migrate
from service.storage.organisations import create_organisation, list_organisations
from service.storage.store import open_store
from service.web.application import web_application
from service.web.gate import Gate
from service.web.house import House

BACKLOG = 2048
GRACE_SECONDS = 20


class NotOpen(Exception):
    """The service would be open to others without a key; the text says what to do."""


def build(settings: Settings) -> Gate:
    """The application, its store opened. Raises BadRuleBook, StoreInUse, NotOpen, OSError."""
    checked(settings)
    book = load_book(settings.rules_overlay)
    new_id = TimeOrderedIds(now)
    migrate(settings.database)
    _refuse_without_keys(settings)
    anyone = _anyone(settings)
    store = open_store(settings.database, now, new_id)
    house = House(
        service=Service(book, store, now, new_id),
        site=site_of(book, settings.fhir),
        authenticate=store.authenticate,
        check_writable=store.check_writable,
        anyone=anyone,
    )
    return web_application(house, store.start, store.close)


def listen(host: str, port: int) -> socket.socket:
    """A socket bound to ``host``; port 0 takes any free one. Raises OSError."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    bound = socket.socket(family, socket.SOCK_STREAM)
    try:
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        bound.bind((host, port))
    except BaseException:
        bound.close()
        raise
    return bound


def server_of(app: Gate, settings: Settings) -> uvicorn.Server:
    """Without an access log: addresses and times of people are no one's business there."""
    config = uvicorn.Config(
        app,
        host=settings.host,
        port=settings.port,
        http="httptools",
        ws="none",
        lifespan="on",
        backlog=BACKLOG,
        access_log=False,
        log_level="info",
        server_header=False,
        proxy_headers=False,
        timeout_keep_alive=30,
        timeout_graceful_shutdown=GRACE_SECONDS,
    )
    return uvicorn.Server(config)


def serve(settings: Settings, say: Callable[[str], None]) -> bool:
    """Serve until told to stop; whether it had started. Raises as ``build`` and ``listen`` do."""
    bound = listen(settings.host, settings.port)
    try:
        settings = replace(settings, port=bound.getsockname()[1])
        server = server_of(build(settings), settings)
        # the server hands a signal on once it has shut down; by then all is done
        for stop in (signal.SIGINT, signal.SIGTERM):
            signal.signal(stop, lambda _number, _frame: None)
        say(f"Serving {settings.database} at {settings.base}; the interface is at /docs.")
        server.run(sockets=[bound])
        return server.started
    finally:
        bound.close()


def _refuse_without_keys(settings: Settings) -> None:
    if settings.loopback:
        return
    moment = now()
    for key in list_keys(settings.database):
        if key.revoked is None and (key.expires is None or key.expires > moment):
            return
    raise NotOpen(
        f"There is no API key yet, so the service does not listen on {settings.host}. Make one"
        " with `stanchion keys create`, or set STANCHION_HOST to 127.0.0.1."
    )


def _anyone(settings: Settings) -> Principal | None:
    """Who calls when keys are switched off: the first organisation, made where there is none."""
    if settings.auth == Auth.KEYS:
        return None
    found = list_organisations(settings.database)
    first = found[0] if found else create_organisation(settings.database, now, "Local", "UTC")
    return Principal(first.org, "off", "anyone on this machine", granted(EVERYTHING))
