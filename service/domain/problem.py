"""What can go wrong with a request, said once for every interface?

    Problem
    ├── Unreadable          the body is no JSON, or is too deep, or has a key twice
    ├── Refused             the body is read but one or more fields are at fault
    ├── NotFound            no such thing in this organisation
    ├── Conflict            another request got there first
    ├── KeyReused           the idempotency key came with another body
    ├── StaleVersion        If-Match named another version than the stored one
    ├── VersionMissing      If-Match is needed and was not sent
    ├── NotAllowed          no credential, or one that may not do this
    └── Unavailable         busy, full or not ready; nothing was kept

HTTP status and FHIR issue type are given to these names elsewhere. Texts say what, where
and what to do; they never repeat a patient's values.
"""

from msgspec import Struct


class Fault(Struct, frozen=True):
    """One fault of a body: JSON Pointer, a stable ``rule`` word, and what to do about it."""

    path: str
    rule: str
    text: str


class Problem(Exception):
    """A fault of a request. ``detail`` is safe to show. ``noted``: the audit trail tells of it."""

    noted = False

    def __init__(self, detail: str, faults: tuple[Fault, ...] = ()) -> None:
        super().__init__(detail)
        self.detail = detail
        self.faults = faults


class Unreadable(Problem):
    pass


class Refused(Problem):
    pass


class NotFound(Problem):
    pass


class Conflict(Problem):
    pass


class KeyReused(Problem):
    pass


class StaleVersion(Problem):
    pass


class VersionMissing(Problem):
    pass


class NotAllowed(Problem):
    """``known``: the credential is good but may not do this without ``scope``.
    ``shown``: a credential was shown, and it is not good."""

    def __init__(
        self, detail: str, *, known: bool = False, shown: bool = False, scope: str = ""
    ) -> None:
        super().__init__(detail)
        self.known = known
        self.shown = shown
        self.scope = scope


class Unavailable(Problem):
    """``retry_after_s``: when to try again, seconds."""

    def __init__(self, detail: str, retry_after_s: int = 1, faults: tuple[Fault, ...] = ()) -> None:
        super().__init__(detail, faults)
        self.retry_after_s = retry_after_s
