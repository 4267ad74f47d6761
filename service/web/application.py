"""How do the addresses, the problems and the gate become one ASGI application?"""

import gc
from collections.abc import AsyncIterator, Awaitable, Callable, Iterable
from contextlib import asynccontextmanager
from itertools import groupby

import msgspec
from litestar import Litestar, route
from litestar.datastructures import State
from litestar.enums import HttpMethod
from litestar.exceptions import HTTPException
from litestar.handlers import HTTPRouteHandler
from litestar.response import Response

from service.domain.problem import Problem
from service.web.cors import cors_of
from service.web.document import document
from service.web.fhir.content import PREFIX
from service.web.fhir.routes import ROUTES, Route
from service.web.gate import Gate
from service.web.health import Readiness
from service.web.house import Ask, House
from service.web.operation import Handler, Operation
from service.web.problems import on_failure, on_http_exception, on_problem
from service.web.routes import OPERATIONS
from service.web.security import guarded

Step = Callable[[], Awaitable[None]]


def web_application(house: House, start: Step, stop: Step) -> Gate:
    """The whole application. ``start`` and ``stop`` frame its life."""
    known = frozenset(
        parameter.name
        for one in OPERATIONS
        for parameter in one.parameters
        if parameter.place == "query"
    )
    house.running.metrics.refused = house.refusals.counts
    return Gate(router(house, start, stop), house.running, known)


def router(house: House, start: Step, stop: Step) -> Litestar:
    @asynccontextmanager
    async def life(app: Litestar) -> AsyncIterator[None]:
        await start()
        # what was built for good is left out of collection: it only costs pauses
        gc.collect()
        gc.freeze()
        app.state.started = True
        try:
            yield
        finally:
            await stop()

    return Litestar(
        [*handlers(OPERATIONS), *fhir_handlers(ROUTES)],
        lifespan=[life],
        state=State(
            {
                "house": house,
                "readiness": Readiness(),
                "document": msgspec.json.encode(document()),
                "started": False,
            }
        ),
        exception_handlers={
            Problem: on_problem,
            HTTPException: on_http_exception,
            Exception: on_failure,
        },
        # the gate refuses first, and says how much is allowed
        request_max_body_size=None,
        cors_config=cors_of(house.running.origins),
        openapi_config=None,
        logging_config=None,
    )


def handlers(operations: Iterable[Operation]) -> list[HTTPRouteHandler]:
    """One route a path, so that Allow lists every method of it."""
    by_path = groupby(sorted(operations, key=lambda one: one.path), key=lambda one: one.path)
    return [_route(path, {one.method: _guarded(one) for one in group}) for path, group in by_path]


def fhir_handlers(routes: Iterable[Route]) -> list[HTTPRouteHandler]:
    by_path = groupby(sorted(routes, key=lambda one: one.path), key=lambda one: one.path)
    return [
        _route(PREFIX + path, {one.method: _guarded(one) for one in group})
        for path, group in by_path
    ]


def _guarded(one: Operation | Route) -> Handler:
    """No handler can forget to ask who calls."""
    return one.handler if one.open else guarded(one.handler, one.needs, one.deed)


def _route(path: str, methods: dict[str, Handler]) -> HTTPRouteHandler:
    async def answer(request: Ask) -> Response[bytes]:
        return await methods[request.method](request)

    template = path.replace("}", ":str}")
    return route(template, http_method=[HttpMethod(method) for method in methods], name=path)(
        answer
    )
