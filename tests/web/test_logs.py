"""Does a log line say what those who run the service need, and nothing of what was sent?"""

import io
import json
import logging
import sys
from collections.abc import Iterator
from typing import Any

import pytest

from service.web import logs
from service.web.logs import configure, line_of, names_of, places_only, silent, writer
from tests.web.watched import watched
from tests.web.world import World, screen

KNOWN = frozenset({"limit", "cursor"})


@pytest.fixture
def untouched() -> Iterator[None]:
    """The root logger as it was."""
    root = logging.getLogger()
    before, level = list(root.handlers), root.level
    yield
    root.handlers[:] = before
    root.setLevel(level)


async def test_each_request_has_one_line_with_template_status_and_ids(running: World) -> None:
    lines: list[dict[str, Any]] = []
    watched(running, write=lines.append)
    kept = await running.post(screen())
    plan = kept["plan"]["id"]
    response = await running.client.get(f"/v1/plans/{plan}?mara=aldous&limit=3")
    assert [(line["method"], line["route"], line["status"]) for line in lines] == [
        ("POST", "/v1/screens", 201),
        ("GET", "/v1/plans/{plan_id}", 400),
    ]
    last = lines[-1]
    assert last["request_id"] == response.headers["x-request-id"]
    assert last["parameters"] == ["?", "limit"]
    assert last["ms"] > 0
    assert len(last["org"]) == 36 and len(last["credential"]) == 36
    assert plan not in json.dumps(lines)


async def test_a_head_an_unknown_address_and_an_unknown_caller_are_told_as_they_are(
    running: World,
) -> None:
    lines: list[dict[str, Any]] = []
    watched(running, write=lines.append)
    await running.nobody.head("/health/live")
    await running.nobody.get("/mara/aldous")
    await running.nobody.get("/v1/rules")
    await running.nobody.request("MARA", "/v1/rules")
    told = [(line["method"], line["route"], line["status"]) for line in lines]
    assert told[:3] == [
        ("HEAD", "/health/live", 200),
        ("GET", "none", 404),
        ("GET", "/v1/rules", 401),
    ]
    assert told[3][0] == "other"
    assert not any("org" in line for line in lines)


def test_a_parameter_that_no_address_has_is_a_question_mark() -> None:
    query = b"limit=1&Mara%20Aldous=x&patient:exact=y&patient.identifier=z&_count=3&limit=2"
    assert names_of(query, KNOWN) == ["?", "_count", "limit", "patient"]


def test_a_line_of_a_client_that_went_away_has_no_body_of_its_own() -> None:
    scope = {"method": "GET", "query_string": b"", "state": {"request_id": "r"}}
    line = line_of(scope, KNOWN, 499, 0.25, "/v1/rules")
    assert (line["status"], line["ms"], "parameters" in line) == (499, 250.0, False)


def test_the_line_leaves_as_json_or_as_text_and_not_at_all_above_info() -> None:
    for form, begins in (("json", b"{"), ("text", b"20")):
        stream = io.BytesIO()
        writer(form, "info", stream)({"event": "request", "route": "/v1/rules", "status": 200})
        assert stream.getvalue().startswith(begins)
        assert stream.getvalue().count(b"\n") == 1
        assert b"/v1/rules" in stream.getvalue()
    told = io.BytesIO()
    writer("json", "info", told)({"event": "request", "status": 200})
    assert json.loads(told.getvalue())["status"] == 200
    assert writer("json", "warning", io.BytesIO()) is silent
    silent({})


def test_a_log_that_nobody_takes_any_more_stops_nothing() -> None:
    class Gone(io.BytesIO):
        def write(self, _data: object) -> int:
            raise BrokenPipeError

    writer("json", "info", Gone())({"event": "request"})


@pytest.mark.usefixtures("untouched")
def test_every_logger_writes_one_form_and_an_error_its_kind_and_place_without_its_words(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    configure("json", "info")
    try:
        raise RuntimeError("H-1007 Mara Aldous")
    except RuntimeError:
        logging.getLogger("uvicorn.error").exception("Exception in ASGI application")
    logging.getLogger("stanchion.audit").info("seal %s", '{"n":1}')
    logging.getLogger("httpx").info("GET https://partner.example/?identifier=H-1007")
    first, second = [json.loads(line) for line in stream.getvalue().splitlines()]
    assert (first["error"], first["logger"], first["level"]) == (
        "RuntimeError",
        "uvicorn.error",
        "error",
    )
    assert "test_every_logger" in first["places"]
    assert second["event"] == 'seal {"n":1}'
    assert "H-1007" not in stream.getvalue() and "Traceback" not in stream.getvalue()


@pytest.mark.usefixtures("untouched")
def test_seals_are_told_however_little_the_log_is_to_say(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    configure("json", "error")
    logging.getLogger("stanchion.audit").info("seal %s", '{"n":1}')
    logging.getLogger("stanchion.web").warning("not this")
    (line,) = stream.getvalue().splitlines()
    assert json.loads(line)["event"] == 'seal {"n":1}'


@pytest.mark.usefixtures("untouched")
def test_text_is_for_a_person(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    configure("text", "warning")
    logging.getLogger("stanchion.web").info("quiet")
    logging.getLogger("stanchion.web").warning("loud")
    (line,) = stream.getvalue().splitlines()
    assert line.endswith(" warning loud logger=stanchion.web")


def test_an_exception_given_as_itself_loses_its_words_too() -> None:
    said = places_only(None, "", {"exc_info": ValueError("Mara"), "exception": "Mara"})
    assert said == {"error": "ValueError", "places": ""}
    assert places_only(None, "", {"event": "a"}) == {"event": "a"}
    assert logs.UNKNOWN == "?"
