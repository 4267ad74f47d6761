"""Is what a method needs really there: the device, its safe load, the helpers?

What is missing can only rule a method out; it never makes a more demanding one possible.
"""

from service.domain.axis import Number
from service.domain.citation import Citation, Standing
from service.domain.condition import Condition
from service.domain.context import Context, DeviceAtHand, DeviceStatus
from service.domain.profile import Profile
from service.domain.reason import Reason, Status
from service.rules.book import Option, RuleBook
from service.rules.evaluate import Judge

MEANS = Citation("common_practice", Standing.PRACTICE)


def helper_count(option: Option, judge: Judge) -> tuple[int | None, tuple[Reason, ...]]:
    """How many helpers, and each rule that asks for them; None where nobody is moved."""
    method = option.method
    if method.helpers is None:
        return None, ()
    base = f"{method.id}.helpers"
    reasons = [_asked(base, str(method.helpers), method.helpers_why, method.helpers_citation)]
    floor, extra = method.helpers, 0
    for rule in option.more_helpers:
        if rule.unless is not None and judge.holds(rule.unless):
            continue
        floor, extra = max(floor, rule.at_least), extra + rule.add
        asked = f"{rule.add} more" if rule.add else f"at least {rule.at_least}"
        reasons.append(_asked(rule.rule, asked, rule.why, rule.citation))
    return floor + extra, tuple(reasons)


def missing(book: RuleBook, context: Context, option: Option, judge: Judge) -> tuple[Reason, ...]:
    """What is not there for ``option``: helpers, or a device that is ready and strong enough."""
    found: list[Reason] = []
    needed, _ = helper_count(option, judge)
    there = context.trained_helpers
    if needed and there is not None and there < needed:
        found.append(
            _missing(
                f"{option.method.id}.helpers",
                "trained_helpers",
                str(there),
                f"at least {needed}",
                "Not enough trained helpers are there",
            )
        )
    wanted = option.method.device_class
    if wanted is not None and context.devices != "any":
        fit = [d for d in context.devices if usable(book, d, wanted, judge.profile)]
        if not fit:
            found.append(_no_device(book, context.devices, wanted, option))
    return tuple(found)


def device_at_hand(
    book: RuleBook, context: Context, wanted: str | None, profile: Profile
) -> DeviceAtHand | None:
    """The first usable device of the class that is listed as at hand."""
    if wanted is None or context.devices == "any":
        return None
    return next((d for d in context.devices if usable(book, d, wanted, profile)), None)


def usable(book: RuleBook, device: DeviceAtHand, wanted: str, profile: Profile) -> bool:
    """Of the class, in order, and known to carry the person's mass."""
    if device.device_class != wanted or device.status != DeviceStatus.READY:
        return False
    if not book.device_classes[wanted].carries_person:
        return True
    mass = profile.numbers[Number.MASS_KG].value
    load = device.safe_working_load_kg
    return mass is not None and load is not None and mass <= load


def _no_device(book: RuleBook, devices: list[DeviceAtHand], wanted: str, option: Option) -> Reason:
    of_class = [device for device in devices if device.device_class == wanted]
    seen = ", ".join(sorted({device.status for device in of_class})) or "none"
    title = book.device_classes[wanted].title
    return _missing(
        f"{option.method.id}.device",
        wanted,
        seen,
        "one that is ready and whose safe working load carries the person",
        f"No usable device is at hand: {title}",
    )


def _asked(rule: str, asked: str, why: str, citation: Citation) -> Reason:
    met = Status.MET
    return Reason(rule, "helpers", asked, asked, met, why, citation.source, citation.standing)


def _missing(rule: str, about: str, seen: str, required: str, why: str) -> Reason:
    gone = Status.MISSING
    return Reason(rule, about, seen, required, gone, why, MEANS.source, MEANS.standing)


def expanded(profile: Profile) -> bool:
    """Whether expanded-capacity equipment is due."""
    return profile.has(Condition.VERY_HEAVY)
