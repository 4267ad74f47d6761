"""How is the rule book read as data?"""

from typing import Any

import msgspec
from litestar.response import Response
from msgspec import Struct

from service.domain.citation import Source
from service.domain.move import Move
from service.domain.plan import RuleBookRef
from service.domain.problem import NotFound
from service.rules.files import StageFile
from service.web import paging, reply
from service.web.house import Ask, house_of
from service.web.negotiate import Form, form_of
from service.web.security import caller

# sets have no order of their own, and an answer must not change from start to start
_ENCODER = msgspec.json.Encoder(decimal_format="number", order="deterministic")


class MethodTitle(Struct, frozen=True):
    """``support``: its place in the order of support, low = most active."""

    id: str
    title: str
    support: int


class MoveTitle(Struct, frozen=True):
    """``methods``: which serve the move, least supported first."""

    id: str
    title: str
    methods: tuple[str, ...]


class RuleBookSummary(Struct, frozen=True):
    rule_book: RuleBookRef
    methods: tuple[MethodTitle, ...]
    moves: tuple[MoveTitle, ...]


async def summary(request: Ask) -> Response[bytes]:
    await _reader(request)
    book = house_of(request).service.book
    ordered = sorted(book.methods.values(), key=lambda method: (method.support, method.id))
    methods = tuple(MethodTitle(one.id, one.title, one.support) for one in ordered)
    moves = tuple(
        MoveTitle(move, rules.title, tuple(option.method.id for option in rules.options))
        for move, rules in sorted(book.moves.items())
    )
    return _told(request, RuleBookSummary(book.ref, methods, moves))


async def method(request: Ask) -> Response[bytes]:
    await _reader(request)
    found = house_of(request).service.book.methods.get(request.path_params["method_id"])
    if found is None:
        raise NotFound("No such method. /v1/rules lists them.")
    return _told(request, found)


async def move(request: Ask) -> Response[bytes]:
    await _reader(request)
    wanted = request.path_params["move_id"]
    moves = house_of(request).service.book.moves
    if wanted not in moves:
        raise NotFound("No such move. /v1/rules lists them.")
    return _told(request, moves[Move(wanted)])


async def stages(request: Ask) -> Response[bytes]:
    await _reader(request)
    found: dict[str, StageFile] = house_of(request).service.book.stages
    return _told(request, found)


async def sources(request: Ask) -> Response[bytes]:
    await _reader(request)
    found: dict[str, Source] = house_of(request).service.book.sources
    return _told(request, found)


async def _reader(request: Ask) -> None:
    await caller(request)
    form_of(request.headers.get("accept"), (Form.NATIVE,))
    paging.only(request)


def _told(request: Ask, value: Any) -> Response[bytes]:
    return reply.sent(request, _ENCODER.encode(value), Form.NATIVE)
