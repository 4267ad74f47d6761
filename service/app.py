"""How is everything composed, and how does it serve?"""

import signal
import socket
from collections.abc import Callable
from pathlib import Path

from msgspec.structs import replace

from service.app_fhir import site_for
from service.app_identity import (
    anyone,
    checks,
    own_of,
    refuse_unguarded,
    trusted,
    verifier,
    with_own,
)
from service.app_running import life_of, log, running_of, unaudited_of, watching_of
from service.app_server import BACKLOG, listen, server_of
from service.app_workers import serve_by_many
from service.application.service import Service
from service.clock import now
from service.rules.load import load_book
from service.settings import Settings, checked
from service.storage.ids import TimeOrderedIds
from service.storage.migrate import migrate
from service.storage.store import open_store
from service.web.application import web_application
from service.web.gate import Gate
from service.web.house import House
from service.web.metrics_shared import share
from service.web.smart import configuration

__all__ = ["BACKLOG", "build", "listen", "serve", "server_of"]


def build(settings: Settings, shared: Path | None = None) -> Gate:
    """The application, its store opened. ``shared``: where several processes count together.
    Raises BadRuleBook, BadIssuers, StoreInUse, NotOpen, OSError."""
    checked(settings)
    book = load_book(settings.rules_overlay)
    new_id = TimeOrderedIds(now)
    migrate(settings.place)
    issuers = trusted(settings)
    refuse_unguarded(settings, issuers)
    by_nobody = anyone(settings)
    tokens = verifier(issuers)
    found = own_of(settings.place, settings.rules_overlay)
    watching = watching_of(settings, shared)
    store = open_store(settings.place, now, new_id, watching.store)
    running = running_of(settings, store, book, watching, checks(tokens))
    unaudited = unaudited_of(settings, watching.metrics, running.phase)

    house = House(
        service=Service(book, store, now, new_id, store, unaudited, watching.span),
        site=site_for(settings, book),
        authenticate=store.authenticate,
        check_writable=store.check_writable,
        anyone=by_nobody,
        body_seconds=settings.body_seconds,
        tokens=tokens,
        smart=configuration(issuers),
        running=running,
    )
    house = with_own(house, found, lambda own: site_for(settings, own))
    return web_application(house, *life_of(store, running, watching))


def serve(settings: Settings, say: Callable[[str], None]) -> bool:
    """Serve until told to stop; whether it had started. Raises as ``build`` and ``listen`` do."""
    log(settings)
    if settings.workers > 1:
        _refuse(settings)
        return serve_by_many(settings, _serve_as_one_of_many, say)
    bound = listen(settings.host, settings.port)
    try:
        settings = replace(settings, port=bound.getsockname()[1])
        return serve_on(
            settings,
            bound,
            lambda: say(f"Serving {settings.place} at {settings.base}; the interface is at /docs."),
        )
    finally:
        bound.close()


def _refuse(settings: Settings) -> None:
    """Raises now what each process would raise, again and again."""
    checked(settings)
    load_book(settings.rules_overlay)
    refuse_unguarded(settings, trusted(settings))
    migrate(settings.place)


def serve_on(
    settings: Settings,
    bound: socket.socket,
    begun: Callable[[], None] = lambda: None,
    shared: Path | None = None,
) -> bool:
    """Serve on ``bound`` until told to stop; whether it had started. Raises as ``build`` does."""
    server = server_of(build(settings, shared), settings)
    # the server hands a signal on once it has shut down; by then all is done
    for stop in (signal.SIGINT, signal.SIGTERM):
        signal.signal(stop, lambda _number, _frame: None)
    begun()
    server.run(sockets=[bound])
    return server.started


def _serve_as_one_of_many(
    settings: Settings, bound: socket.socket, folder: Path, place: int
) -> bool:
    share(folder, place)
    return serve_on(settings, bound, shared=folder)
