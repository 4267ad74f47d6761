"""What time is it? Everything below the roof is handed this."""

from datetime import UTC, datetime


def now() -> datetime:
    return datetime.now(UTC)
