"""With which small parts are screens drawn: numbers at their limits, words, identifiers?"""

from datetime import UTC, timedelta, timezone
from decimal import Decimal
from typing import Any, TypeVar

from hypothesis import strategies as st

from service.domain.value import Identifier

T = TypeVar("T")


def maybe(strategy: st.SearchStrategy[T]) -> st.SearchStrategy[T | None]:
    return st.none() | strategy


def number(low: str, high: str, places: int = 1) -> st.SearchStrategy[Decimal]:
    """Decimals in their limits, both ends likely."""
    ends = st.sampled_from([Decimal(low), Decimal(high)])
    return ends | st.decimals(Decimal(low), Decimal(high), places=places)


def distinct(kind: Any, most: int) -> st.SearchStrategy[list[Any]]:
    return st.lists(st.sampled_from(list(kind)), unique=True, max_size=most)


WORDS = st.from_regex(r"[a-z0-9_/.-]{1,12}( [a-z]{1,8})?", fullmatch=True)
IDENTIFIERS = st.builds(
    Identifier,
    system=st.sampled_from(["urn:oid:2.999.7", "urn:oid:2.999.8"]),
    value=st.from_regex(r"[A-Z]-[0-9]{1,6}", fullmatch=True),
)
OFFSETS = st.sampled_from([UTC, timezone(timedelta(hours=1)), timezone(timedelta(hours=-9.5))])
