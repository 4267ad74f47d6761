"""Is an entry known by its place, which never changes?"""

from datetime import UTC, datetime

from service.application.trail_ports import Noted


def test_an_entry_is_called_by_its_chain_and_its_number() -> None:
    assert Noted(chain=2, seq=17, at=datetime(2026, 3, 4, tzinfo=UTC), action="x").id == "2-17"
