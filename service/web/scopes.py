"""Which scope does an interaction need, and does the caller have it?

A FHIR route says what it needs by type and interaction: ``needs("CarePlan", "s")`` for a search,
``needs("QuestionnaireResponse", "c")`` for a create. The routes hand these to
``security.guarded``; a handler that finds out later which types it touches, as a transaction
or an ``_include`` does, asks ``require`` or ``allow`` itself.
"""

from service.application.service import Call
from service.domain.problem import NotAllowed
from service.domain.scope import may, told

Needs = tuple[str, ...]
"""Each of them is needed. Empty: any good credential will do."""


def needs(kind: str, letters: str) -> Needs:
    """What ``letters`` of c, r, u, d, s on the resource type ``kind`` need."""
    return tuple(f"{kind}.{letter}" for letter in letters)


def allow(call: Call, need: Needs) -> bool:
    """Whether the caller has every scope of ``need``."""
    return all(may(call.principal.scopes, one) for one in need)


def require(call: Call, need: Needs) -> None:
    """Raises NotAllowed, which names the scopes that are missing."""
    missing = [told(one) for one in need if not may(call.principal.scopes, one)]
    if missing:
        scope = " ".join(missing)
        raise NotAllowed(f"This credential lacks the scope {scope}.", known=True, scope=scope)
