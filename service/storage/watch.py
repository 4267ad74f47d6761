"""Who hears what the store did, so that it can be counted?"""

from collections.abc import Iterable
from typing import Protocol


class Watch(Protocol):
    """Told after the fact, and quickly done. ``planned``: the method and the move of each."""

    def committed(self, size: int, seconds: float) -> None: ...
    def planned(self, chosen: Iterable[tuple[str, str]]) -> None: ...
    def lapsed(self, count: int) -> None: ...


class Unwatched:
    """Nobody counts."""

    def committed(self, size: int, seconds: float) -> None:
        """A transaction of ``size`` writes went to disk."""

    def planned(self, chosen: Iterable[tuple[str, str]]) -> None:
        """A new screen was kept."""

    def lapsed(self, count: int) -> None:
        """The end of so many plans was written down."""
