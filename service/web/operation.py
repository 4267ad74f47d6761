"""What does one method of one address take and give? Read by the router and by the document."""

from collections.abc import Awaitable, Callable
from typing import Any

from litestar.response import Response
from msgspec import Struct

from service.web.house import Ask
from service.web.negotiate import BOTH, Form
from service.web.scopes import Needs

Handler = Callable[[Ask], Awaitable[Response[bytes]]]


class Parameter(Struct, frozen=True):
    """``place``: path, query or header. ``kind``: a type whose schema is the parameter's."""

    name: str
    place: str
    kind: Any
    text: str
    required: bool = False


class Given(Struct, frozen=True):
    """A good answer: what it is natively and which headers it has. Without ``kind``
    it has no body, or a file of one of the ``media`` types."""

    text: str
    kind: Any = None
    forms: tuple[Form, ...] = BOTH
    headers: tuple[str, ...] = ()
    media: tuple[str, ...] = ()


class Operation(Struct, frozen=True, kw_only=True):
    """One method of one address. ``problems``: the statuses that it may refuse with, besides
    those that any address has. ``needs``: the scopes without which it answers 403; ``open``: it
    asks for no credential at all. ``deed``: what the audit trail calls it where it touches a
    patient's data, or the trail itself."""

    method: str
    path: str
    handler: Handler
    id: str
    tag: str
    summary: str
    text: str = ""
    parameters: tuple[Parameter, ...] = ()
    body: type | None = None
    examples: str | None = None
    answers: dict[int, Given]
    problems: tuple[int, ...] = ()
    needs: Needs = ()
    deed: str = ""
    open: bool = False
