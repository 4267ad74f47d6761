"""Does a service that was told nothing have no limits of its own, no log and no traces?"""

from contextlib import nullcontext

from service.web.limits import Limits
from service.web.running import Running


def test_a_running_service_of_nothing_but_defaults_limits_nobody_and_waits_for_nothing() -> None:
    running = Running()
    assert running.limits == Limits()
    assert (running.queued(), running.checks, running.origins) == (0, (), ())
    assert isinstance(running.span_of({}), nullcontext)
    assert running.phase is not Running().phase


def test_spans_are_made_where_traces_are_on() -> None:
    class Traces:
        def request(self, scope: object) -> nullcontext[object]:
            return nullcontext(scope)

    with Running(traces=Traces()).span_of({"path": "/a"}) as given:
        assert given == {"path": "/a"}
