"""Is a credential held to its rate, by itself, and let go when the window is over?"""

import pytest

from service.web import limits_rate
from service.web.limits_rate import Counters, Rates


class Clock:
    now = 100.0

    def __call__(self) -> float:
        return self.now


def test_a_credential_may_send_so_many_a_window_and_is_told_how_long_to_wait() -> None:
    clock = Clock()
    rates = Rates("3/minute", clock)
    assert [rates.wait_of("a") for _ in range(3)] == [None] * 3
    clock.now += 20
    assert rates.wait_of("a") == 40.0
    assert rates.wait_of("b") is None
    clock.now += 40
    assert rates.wait_of("a") is None


def test_of_several_rates_the_longest_wait_counts() -> None:
    clock = Clock()
    rates = Rates("2/second;3/minute", clock)
    assert [rates.wait_of("a") for _ in range(3)] == [None, None, 1.0]
    clock.now += 2
    assert rates.wait_of("a") == 58.0


def test_off_is_no_limit() -> None:
    rates = Rates("off")
    assert [rates.wait_of("a") for _ in range(1000)] == [None] * 1000


def test_counters_whose_window_is_over_are_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits_rate, "MANY", 10)
    clock = Clock()
    counters = Counters(clock)
    for number in range(10):
        counters.incr(f"k{number}", 60)
    clock.now += 61
    counters.incr("new", 60)
    assert counters.reset() == 1


def test_the_library_finds_in_it_what_it_asks_for() -> None:
    clock = Clock()
    counters = Counters(clock)
    assert (counters.incr("k", 60, amount=2), counters.get("k"), counters.check()) == (2, 2, True)
    assert counters.get_expiry("k") == 160.0
    counters.clear("k")
    assert counters.get("k") == 0
    assert issubclass(KeyError, counters.base_exceptions)
