"""Is every refusal counted, told once a minute, and never with the credential?"""

import logging

import pytest

from service.application.ports import AuditEntry
from service.domain.problem import Unavailable
from service.domain.record import Principal, Refusal
from service.web import security_refusals
from service.web.security_refusals import QUIET_SECONDS, Refusals

WARD = Principal("org-1", "key-1", "ward")
EXPIRED = Refusal("expired_key", "It has run out.", WARD)
UNKNOWN = Refusal("unknown_key", "Nobody knows it.")


class Trail:
    """An audit trail in memory, and a clock."""

    def __init__(self) -> None:
        self.now = 0.0
        self.entries: list[AuditEntry] = []
        self.full = False
        self.refusals = Refusals(lambda: self.now)

    async def audit(self, entry: AuditEntry) -> None:
        if self.full:
            raise Unavailable("The disk is full.")
        self.entries.append(entry)

    async def note(self, refusal: Refusal) -> None:
        await self.refusals.note(refusal, "request-1", self.audit)

    def told(self) -> list[tuple[str, str, str]]:
        return [(one.action, one.principal.credential, one.outcome) for one in self.entries]


async def test_a_known_credential_is_told_to_its_organisation() -> None:
    trail = Trail()
    await trail.note(EXPIRED)
    (entry,) = trail.entries
    assert entry == AuditEntry("credential.refuse", WARD, "request-1", "expired_key")


async def test_an_unknown_one_goes_to_the_log_alone(caplog: pytest.LogCaptureFixture) -> None:
    trail = Trail()
    with caplog.at_level(logging.WARNING):
        await trail.note(UNKNOWN)
    assert trail.entries == []
    assert caplog.messages == ["credential refused: unknown_key (1)"]


async def test_a_flood_is_counted_in_full_and_told_once_a_minute(
    caplog: pytest.LogCaptureFixture,
) -> None:
    trail = Trail()
    for _ in range(1000):
        await trail.note(EXPIRED)
    trail.now = QUIET_SECONDS
    await trail.note(EXPIRED)
    await trail.note(EXPIRED)
    assert trail.refusals.counts == {"expired_key": 1002}
    assert trail.told() == [
        ("credential.refuse", "key-1", "expired_key"),
        ("credential.refuse", "key-1", "expired_key (1000 times)"),
    ]
    assert caplog.messages == [
        "credential refused: expired_key (1)",
        "credential refused: expired_key (1000)",
    ]


async def test_each_credential_and_reason_is_told_of_by_itself() -> None:
    trail = Trail()
    other = Principal("org-2", "key-2", "board")
    for known in (WARD, other):
        for reason in ("expired_key", "wrong_secret"):
            await trail.note(Refusal(reason, "", known))
    assert len({(one.principal.org, one.outcome) for one in trail.entries}) == 4


async def test_a_missing_scope_is_told_with_its_name() -> None:
    trail = Trail()
    for _ in range(3):
        await trail.refusals.note_scope(WARD, "system/Goal.r", "request-1", trail.audit)
    assert trail.told() == [("scope.refuse", "key-1", "lacks system/Goal.r")]
    assert trail.refusals.counts["insufficient_scope"] == 3


async def test_many_kinds_do_not_grow_what_is_remembered(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(security_refusals, "MOST_KINDS", 5)
    trail = Trail()
    for n in range(50):
        await trail.note(Refusal("expired_key", "", Principal("org-1", f"key-{n}", "x")))
    assert len(trail.entries) == 4  # one of the five kinds is the line in the log
    assert len(trail.refusals._told) <= 5
    trail.now = QUIET_SECONDS
    await trail.note(EXPIRED)
    assert len(trail.entries) == 5
    assert trail.refusals.counts["expired_key"] == 51


async def test_a_trail_that_cannot_be_written_lets_nobody_in_and_is_told_to_the_log(
    caplog: pytest.LogCaptureFixture,
) -> None:
    trail = Trail()
    trail.full = True
    await trail.note(EXPIRED)
    assert "not in the audit trail: The disk is full." in caplog.text
