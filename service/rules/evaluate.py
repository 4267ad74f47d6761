"""Does a requirement hold for a person, and what was seen?"""

from decimal import Decimal

from service.domain.axis import RANK, UNKNOWN
from service.domain.citation import Citation
from service.domain.profile import Profile
from service.domain.reason import Change, Reason, Status
from service.domain.requirement import Absent, AnyOf, Limit, Need, Requirement

WORDS = {"at_least": "at least", "at_most": "at most", "below": "below"}
TENTHS = Decimal(10)


def holds(requirement: Requirement, profile: Profile) -> bool:
    """Whether ``requirement`` is met. Unknown meets nothing."""
    if isinstance(requirement, Need):
        rank = RANK[requirement.axis]
        return rank[profile.grade(requirement.axis)] >= rank[requirement.grade]
    if isinstance(requirement, Absent):
        return not profile.has(requirement.condition)
    if isinstance(requirement, Limit):
        return _within(requirement, profile.tenths(requirement.number))
    return any(holds(part, profile) for part in requirement.parts)


def _within(requirement: Limit, seen: int | None) -> bool:
    if seen is None:
        return False
    if requirement.comparison == "at_least":
        return seen >= requirement.value
    if requirement.comparison == "at_most":
        return seen <= requirement.value
    return seen < requirement.value


def reason(requirement: Requirement, profile: Profile) -> Reason:
    """``requirement`` held against ``profile``: what was seen, what is asked, how it stands."""
    about, seen, required = told(requirement, profile)
    return Reason(
        requirement.rule,
        about,
        seen,
        required,
        _status(requirement, profile, seen),
        requirement.why,
        requirement.citation.source,
        requirement.citation.standing,
    )


def _status(requirement: Requirement, profile: Profile, seen: str) -> Status:
    if holds(requirement, profile):
        return Status.MET
    if isinstance(requirement, Absent):
        return Status.FORBIDDEN
    return Status.UNKNOWN if seen == UNKNOWN else Status.UNMET


def told(requirement: Requirement, profile: Profile) -> tuple[str, str, str]:
    """What a requirement is about, what was seen and what is asked, in words."""
    if isinstance(requirement, Need):
        return requirement.axis, profile.grade(requirement.axis), f"at least {requirement.grade}"
    if isinstance(requirement, Absent):
        present = profile.has(requirement.condition)
        return requirement.condition, "present" if present else "absent", "absent"
    if isinstance(requirement, Limit):
        value = profile.numbers[requirement.number].value
        required = f"{WORDS[requirement.comparison]} {Decimal(requirement.value) / TENTHS}"
        return requirement.number, UNKNOWN if value is None else str(value), required
    parts = [told(part, profile) for part in requirement.parts]
    return (
        " or ".join(about for about, _, _ in parts),
        "; ".join(f"{about}: {seen}" for about, seen, _ in parts),
        " or ".join(f"{about} {required}" for about, _, required in parts),
    )


def changes(requirement: Requirement, profile: Profile) -> tuple[Change, ...]:
    """The fewest changes that make an unmet ``requirement`` hold: of several ways, the first."""
    if isinstance(requirement, AnyOf):
        return min((changes(part, profile) for part in requirement.parts), key=len)
    about, seen, required = told(requirement, profile)
    return (Change(about, seen, required),)


def cited(
    rule: str, about: str, seen: str, required: str, status: Status, why: str, citation: Citation
) -> Reason:
    """A reason that is no requirement: a helper count, a means that is missing."""
    return Reason(rule, about, seen, required, status, why, citation.source, citation.standing)
