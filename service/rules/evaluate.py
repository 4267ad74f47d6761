"""Does a requirement hold for a person, and what was seen?"""

from decimal import Decimal

from service.domain.axis import RANK, UNKNOWN
from service.domain.profile import Profile
from service.domain.reason import Reason, Status
from service.domain.requirement import Absent, Limit, Need, Requirement

WORDS = {"at_least": "at least", "at_most": "at most", "below": "below"}
TENTHS = Decimal(10)


class Judge:
    """Holds requirements against one profile, each at most once."""

    def __init__(self, profile: Profile) -> None:
        self.profile = profile
        self._held: dict[int, bool] = {}
        self._reasons: dict[int, Reason] = {}

    def holds(self, requirement: Requirement) -> bool:
        """Whether ``requirement`` is met. Unknown meets nothing."""
        key = id(requirement)
        held = self._held.get(key)
        if held is None:
            held = self._held[key] = _holds(requirement, self.profile)
        return held

    def reason(self, requirement: Requirement) -> Reason:
        """``requirement`` held against the profile: what was seen, what is asked, how it stands."""
        key = id(requirement)
        told_before = self._reasons.get(key)
        if told_before is not None:
            return told_before
        about, seen, required = told(requirement, self.profile)
        made = self._reasons[key] = Reason(
            requirement.rule,
            about,
            seen,
            required,
            self._status(requirement, seen),
            requirement.why,
            requirement.citation.source,
            requirement.citation.standing,
        )
        return made

    def _status(self, requirement: Requirement, seen: str) -> Status:
        if self.holds(requirement):
            return Status.MET
        if isinstance(requirement, Absent):
            return Status.FORBIDDEN
        return Status.UNKNOWN if seen == UNKNOWN else Status.UNMET


def _holds(requirement: Requirement, profile: Profile) -> bool:
    if isinstance(requirement, Need):
        rank = RANK[requirement.axis]
        return rank[profile.grade(requirement.axis)] >= rank[requirement.grade]
    if isinstance(requirement, Absent):
        return requirement.condition not in profile.conditions
    if isinstance(requirement, Limit):
        return _within(requirement, profile.tenths(requirement.number))
    return any(_holds(part, profile) for part in requirement.parts)


def _within(requirement: Limit, seen: int | None) -> bool:
    if seen is None:
        return False
    if requirement.comparison == "at_least":
        return seen >= requirement.value
    if requirement.comparison == "at_most":
        return seen <= requirement.value
    return seen < requirement.value


def told(requirement: Requirement, profile: Profile) -> tuple[str, str, str]:
    """What a requirement is about, what was seen and what is asked, in words."""
    if isinstance(requirement, Need):
        return (
            requirement.axis.value,
            profile.grade(requirement.axis),
            f"at least {requirement.grade}",
        )
    if isinstance(requirement, Absent):
        present = profile.has(requirement.condition)
        return requirement.condition.value, "present" if present else "absent", "absent"
    if isinstance(requirement, Limit):
        value = profile.numbers[requirement.number].value
        required = f"{WORDS[requirement.comparison]} {Decimal(requirement.value) / TENTHS}"
        return requirement.number.value, UNKNOWN if value is None else str(value), required
    parts = [told(part, profile) for part in requirement.parts]
    return (
        " or ".join(about for about, _, _ in parts),
        "; ".join(f"{about}: {seen}" for about, seen, _ in parts),
        " or ".join(f"{about} {required}" for about, _, required in parts),
    )
