"""What is written of each request, and in which form does every line leave?

One line a request: the template of its address, the names of its parameters that the service
knows, status, duration, and the opaque ids of request, organisation and credential. Of an error
the log gets the kind and the places in the code, never its words: they may hold what was sent.
"""

import logging
import sys
import traceback
from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import Any, BinaryIO

import msgspec
import structlog
from structlog.typing import EventDict, WrappedLogger

from service.web.metrics import METHODS, OTHER_METHOD

JSON = "json"
SEALS = "stanchion.audit"
"""Told at every level: only what left the machine shows that a trail was rewritten."""
QUIET = ("httpx", "httpcore", "sqlalchemy", "alembic", "asyncio")
_DEEPEST = 6
_OF_FHIR = (
    "_at _count _elements _format _has _id _include _lastUpdated _pretty _profile _revinclude"
    " _security _since _sort _source _summary _tag _total active authored based-on birthdate"
    " category code date family gender given goal identifier intent name onlySummary owner page"
    " part-of patient performer profile questionnaire resource source start-date status subject"
    " system target target-date url value-concept value-quantity version"
)
_FHIR_PARAMETERS = frozenset(_OF_FHIR.split())
UNKNOWN = "?"

Line = dict[str, Any]
Write = Callable[[Line], None]


def silent(_line: Line) -> None:
    """Where nobody keeps a log."""


def line_of(scope: Any, known: frozenset[str], status: int, seconds: float, route: str) -> Line:
    """What may be said of a request. ``known``: the parameters that addresses name."""
    state = scope["state"]
    line: Line = {
        "event": "request",
        "method": scope["method"] if scope["method"] in METHODS else OTHER_METHOD,
        "route": route,
        "status": status,
        "ms": round(seconds * 1000, 2),
        "request_id": state["request_id"],
    }
    if scope["query_string"]:
        line["parameters"] = names_of(scope["query_string"], known)
    call = state.get("call")
    if call is not None:
        line["org"], line["credential"] = call.principal.org, call.principal.credential
    return line


def names_of(query: bytes, known: frozenset[str]) -> list[str]:
    """Names of parameters. One that the service does not know may be a person's words: ``?``."""
    names = (part.partition(b"=")[0] for part in query.split(b"&")[:50])
    plain = (name.decode("ascii", "replace").partition(":")[0].partition(".")[0] for name in names)
    return sorted({name if name in known | _FHIR_PARAMETERS else UNKNOWN for name in plain})


def writer(form: str, level: str, stream: BinaryIO) -> Write:
    """What writes the line of a request; nothing where the level is above info."""
    if level != "info":
        return silent
    render = structlog.processors.JSONRenderer(serializer=_encoded) if form == JSON else _as_text
    stamp = structlog.processors.TimeStamper(fmt="iso", utc=True, key="time")
    logger = structlog.BytesLogger(stream)

    def write(line: Line) -> None:
        text = render(logger, "info", stamp(logger, "info", {"level": "info", **line}))
        # nobody who reads the log may stop the service by going away
        with suppress(OSError):
            logger.info(text if isinstance(text, bytes) else text.encode())

    return write


def configure(form: str, level: str) -> None:
    """Every logger of the process, the server's too, writes to standard error in ``form``."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=[structlog.stdlib.add_log_level, structlog.stdlib.add_logger_name],
            processors=[
                structlog.processors.TimeStamper(fmt="iso", utc=True, key="time"),
                places_only,
                structlog.stdlib.ProcessorFormatter.remove_processors_meta,
                structlog.processors.JSONRenderer(serializer=_text) if form == JSON else _as_text,
            ],
        )
    )
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(level.upper())
    for name in QUIET:
        logging.getLogger(name).setLevel(logging.WARNING)
    logging.getLogger(SEALS).setLevel(logging.INFO)


def places_only(_logger: WrappedLogger, _method: str, said: EventDict) -> EventDict:
    """An exception becomes its kind and where it was; its words stay out."""
    info = said.pop("exc_info", None)
    said.pop("exception", None)
    error = info[1] if isinstance(info, tuple) else info
    if isinstance(error, BaseException):
        said["error"], said["places"] = type(error).__name__, places_of(error)
    return said


def places_of(error: BaseException) -> str:
    frames = traceback.extract_tb(error.__traceback__)[-_DEEPEST:]
    return " > ".join(f"{frame.name}:{frame.lineno}" for frame in frames)


def _encoded(line: Mapping[str, Any], **_kwargs: Any) -> bytes:
    return msgspec.json.encode(line, enc_hook=repr)


def _text(line: Mapping[str, Any], **_kwargs: Any) -> str:
    return _encoded(line).decode()


def _as_text(_logger: WrappedLogger, _method: str, said: EventDict) -> str:
    """For a person at a terminal: time, level, event, and the rest as name=value."""
    first = [str(said.pop(name, "")) for name in ("time", "level", "event")]
    rest = [f"{name}={value}" for name, value in sorted(said.items())]
    return " ".join([*first, *rest])
