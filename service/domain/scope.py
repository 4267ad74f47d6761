"""What may a credential do?

Scopes are written as SMART App Launch 2.2 writes them for systems: ``system/CarePlan.rs``,
``system/*.cruds`` (create, read, update, delete, search, in this order), and in its first
version ``system/CarePlan.read`` (= rs), ``.write`` (= cud) and ``.*`` (= cruds).

The audit trail is not among ``system/*``: who may see what everybody did is said by name,
``system/AuditEvent.rs``, or a key of a ward's system could read it.
"""

import re
from collections.abc import Iterable

EVERYTHING = "system/*.cruds"

BY_NAME = "AuditEvent"
"""The type that ``*`` does not stand for."""

_LONGEST = 4000
_ANY = "*"
_SCOPE = re.compile(
    r"system/(?P<type>\*|[A-Z][A-Za-z]{0,63})\.(?:(?P<old>read|write|\*)|(?P<letters>c?r?u?d?s?))"
)
_OLD = {"read": "rs", "write": "cud", "*": "cruds"}


def granted(text: str) -> frozenset[str]:
    """What the scopes in ``text``, parted by spaces, allow: ``CarePlan.r`` or ``*.r`` each.

    A scope that is not understood allows nothing: one of another launch context, or one with a
    query, which would narrow what is seen.
    """
    return frozenset().union(*map(_granted, _words(text)))


def checked(scopes: Iterable[str]) -> str:
    """The scopes as one text, each once. Raises ValueError with the first that allows nothing."""
    words = tuple(dict.fromkeys(word for scope in scopes for word in scope.split()))
    for word in words:
        if not _granted(word):
            raise ValueError(
                f"{word!r} is no scope; say for example system/CarePlan.rs or {EVERYTHING}."
            )
    text = " ".join(words)
    if not text or len(text) > _LONGEST:
        raise ValueError(f"Name at least one scope, and {_LONGEST} characters of them at most.")
    return text


def may(allowed: frozenset[str], need: str) -> bool:
    """Whether ``need``, such as ``CarePlan.r``, is among what is allowed."""
    if need in allowed:
        return True
    return f"{_ANY}.{need[-1]}" in allowed and not need.startswith(f"{BY_NAME}.")


def told(need: str) -> str:
    """``need`` as a scope that would allow it."""
    return f"system/{need}"


def _words(text: str) -> list[str]:
    return text.split() if len(text) <= _LONGEST else []


def _granted(word: str) -> frozenset[str]:
    found = _SCOPE.fullmatch(word)
    if found is None:
        return frozenset()
    letters = found["letters"] if found["old"] is None else _OLD[found["old"]]
    return frozenset(f"{found['type']}.{letter}" for letter in letters)
