"""How is everything composed, and how does it serve?"""

import signal
import socket
from collections.abc import Callable

import uvicorn
from msgspec.structs import replace

from service.app_identity import anyone, checks, refuse_unguarded, trusted, verifier
from service.application.service import Service
from service.clock import now
from service.fhir.site import site_of
from service.rules.load import load_book
from service.settings import Settings, checked
from service.storage.ids import TimeOrderedIds
from service.storage.migrate import migrate
from service.storage.store import open_store
from service.web.application import web_application
from service.web.gate import Gate
from service.web.house import House
from service.web.running import Running
from service.web.smart import configuration

BACKLOG = 2048
GRACE_SECONDS = 20


def build(settings: Settings) -> Gate:
    """The application, its store opened. Raises BadRuleBook, BadIssuers,
    StoreInUse, NotOpen, OSError."""
    checked(settings)
    book = load_book(settings.rules_overlay)
    new_id = TimeOrderedIds(now)
    migrate(settings.database)
    issuers = trusted(settings)
    refuse_unguarded(settings, issuers)
    by_nobody = anyone(settings)
    tokens = verifier(issuers)
    store = open_store(settings.database, now, new_id)
    house = House(
        service=Service(book, store, now, new_id, store),
        site=site_of(book, settings.fhir),
        authenticate=store.authenticate,
        check_writable=store.check_writable,
        anyone=by_nobody,
        tokens=tokens,
        smart=configuration(issuers),
        running=Running(checks=checks(tokens)),
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
