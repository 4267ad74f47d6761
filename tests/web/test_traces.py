"""Do spans say where the time went, and nothing of what was sent?"""

from collections.abc import AsyncIterator, Iterable
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from opentelemetry.sdk.trace.export import SimpleSpanProcessor
from opentelemetry.sdk.trace.export.in_memory_span_exporter import InMemorySpanExporter

from service.web.house import House
from service.web.traces import Traces, Watched
from tests.system.markers import Markers, marked
from tests.web.world import World, world


class Collected:
    """Traces into memory."""

    def __init__(self) -> None:
        self.memory = InMemorySpanExporter()
        self.traces = Traces(SimpleSpanProcessor(self.memory))

    def spans(self) -> list[tuple[str, dict[str, Any]]]:
        return [
            (span.name, dict(span.attributes or {})) for span in self.memory.get_finished_spans()
        ]


class Counts:
    """Remembers what it was told."""

    def __init__(self) -> None:
        self.told: list[object] = []

    def committed(self, size: int, seconds: float) -> None:
        self.told.append((size, seconds))

    def planned(self, chosen: Iterable[tuple[str, str]]) -> None:
        self.told.append(list(chosen))

    def lapsed(self, count: int) -> None:
        self.told.append(count)


@pytest.fixture
def collected() -> Collected:
    return Collected()


@pytest.fixture
async def traced(tmp_path: Path, collected: Collected) -> AsyncIterator[World]:
    def change(house: House, *_: str) -> House:
        service = replace(house.service, span=collected.traces.span)
        return replace(
            house, service=service, running=replace(house.running, traces=collected.traces)
        )

    async with world(tmp_path, change=change) as one:
        yield one


async def test_a_screen_has_a_span_for_the_request_and_one_for_what_the_rules_make_of_it(
    traced: World, collected: Collected
) -> None:
    markers = Markers()
    response = await traced.client.post("/v1/screens", json=marked(markers))
    assert response.status_code == 201, response.text
    assess, request = collected.memory.get_finished_spans()
    assert (assess.name, request.name) == ("assess", "POST /v1/screens")
    assert assess.parent is not None and assess.parent.span_id == request.context.span_id
    assert dict(request.attributes or {}) == {
        "http.request.method": "POST",
        "http.route": "/v1/screens",
        "http.response.status_code": 201,
        "stanchion.request_id": response.headers["x-request-id"],
    }
    assert (request.resource.attributes["service.name"], request.events) == ("stanchion", ())
    assert markers.found_in(assess.to_json() + request.to_json()) == []
    assert markers.found_in(response.text) != []


async def test_what_was_asked_for_wrongly_stands_in_no_span(
    traced: World, collected: Collected
) -> None:
    markers = Markers()
    path = f"/v1/plans/{markers.new('path')}?{markers.new('name')}={markers.new('value')}"
    body = {**marked(markers), "observed_at": "1890-01-01T00:00:00Z"}
    await traced.client.get(path, headers={"tracestate": f"a={markers.new('state')}"})
    await traced.client.post("/v1/screens", json=body)
    await traced.nobody.request(markers.new("method"), f"/{markers.new('address')}")
    names = [name for name, _ in collected.spans()]
    assert names == ["GET /v1/plans/{plan_id}", "POST /v1/screens", "other none"]
    assert [told["http.response.status_code"] for _, told in collected.spans()] == [400, 422, 404]
    text = "".join(span.to_json() for span in collected.memory.get_finished_spans())
    assert markers.found_in(text) == []


async def test_a_request_hangs_below_its_sender_where_that_is_named_rightly(
    traced: World, collected: Collected
) -> None:
    parent = "00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01"
    for sent in (parent, "00-zz-zz-01", "mara aldous"):
        await traced.nobody.get("/health/live", headers={"traceparent": sent})
    first, second, third = collected.memory.get_finished_spans()
    assert first.context.trace_id == 0x0AF7651916CD43DD8448EB211C80319C
    assert (second.parent, third.parent) == (None, None)


def test_a_commit_has_a_span_of_its_own_and_everything_is_counted_as_well(
    collected: Collected,
) -> None:
    counts = Counts()
    watched = Watched(counts, collected.traces)
    watched.committed(17, 0.25)
    watched.planned([("stand_aid", "bed_to_chair")])
    watched.lapsed(3)
    (span,) = collected.memory.get_finished_spans()
    assert (span.name, span.parent, dict(span.attributes or {})) == (
        "commit",
        None,
        {"stanchion.commit.size": 17},
    )
    assert span.end_time is not None and span.start_time is not None
    assert span.end_time - span.start_time == 250_000_000
    assert counts.told == [(17, 0.25), [("stand_aid", "bed_to_chair")], 3]


def test_an_error_leaves_no_word_in_a_span(collected: Collected) -> None:
    with pytest.raises(ValueError, match="Mara"), collected.traces.span("assess"):
        raise ValueError("Mara Aldous")
    (span,) = collected.memory.get_finished_spans()
    assert "Mara" not in span.to_json()
    collected.traces.close()
