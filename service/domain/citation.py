"""What does a value or a rule rest on?"""

from enum import StrEnum

from msgspec import Struct


class Standing(StrEnum):
    """How well a value is founded.

    published: seen in the source or a restatement of it · recalled: published, quoted from
    memory · practice: common practice of the trade, no source · default: a starting value
    that a hospital sets for itself.
    """

    PUBLISHED = "published"
    RECALLED = "recalled"
    PRACTICE = "practice"
    DEFAULT = "default"


class Citation(Struct, frozen=True, forbid_unknown_fields=True):
    """A source id of the rule book and the standing of what is quoted from it."""

    source: str
    standing: Standing


class Source(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One source, as its rule file states it. ``seen``: primary, restatement, recalled or none."""

    id: str
    title: str
    body: str
    seen: str
    edition: str | None = None
    year: int | None = None
    licence: str | None = None
    note: str | None = None
