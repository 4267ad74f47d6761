"""Which method is chosen for a move: the least supported one that is open, or more support?"""

from decimal import Decimal

from msgspec import Struct

from service.domain.axis import GRADES
from service.domain.context import Context
from service.domain.reason import Change, Reason, RuledOut, WouldOpen
from service.domain.requirement import Absent, Limit, Need, Requirement
from service.rules.book import MoveRules, Option, RuleBook
from service.rules.evaluate import Judge, changes
from service.rules.finding import limit
from service.rules.means import missing

PERCENT = Decimal(100)


class Choice(Struct, frozen=True):
    """The option chosen for a move, and why this one.

    ``lacking``: the means that would let the person be moved, where nobody is moved for want of
    them. ``interim``: the most supported option open to the person, for when the plan lapsed.
    """

    option: Option
    because: tuple[Reason, ...]
    ruled_out: tuple[RuledOut, ...]
    would_open: WouldOpen | None
    margin: tuple[str, ...]
    lacking: tuple[Reason, ...]
    interim: Option


def select(book: RuleBook, move: MoveRules, judge: Judge, context: Context) -> Choice:
    """The choice for ``move``. The options stand in the order of support, the last one moves
    nobody and is always open, so there is exactly one answer."""
    unmet = [
        tuple(each for each in option.requires if not judge.holds(each)) for option in move.options
    ]
    lacks = [missing(book, context, option, judge) for option in move.options]
    first = unmet.index(())
    taken = next(
        index for index in range(first, len(unmet)) if not unmet[index] and not lacks[index]
    )
    open_to_person = [index for index, each in enumerate(unmet[:-1]) if not each]
    chosen = move.options[taken]
    waits = taken == len(unmet) - 1 and first != taken
    return Choice(
        option=chosen,
        because=_because(move, unmet, lacks, taken, first, judge),
        ruled_out=tuple(
            RuledOut(
                option.method.id,
                tuple(judge.reason(each) for each in unmet[index]) + lacks[index],
            )
            for index, option in enumerate(move.options[:-1])
            if index != taken and (unmet[index] or lacks[index])
        ),
        would_open=_would_open(move, unmet, lacks, taken, judge),
        margin=tuple(_margin(book, chosen.requires, judge)),
        lacking=lacks[first] if waits else (),
        interim=move.options[open_to_person[-1] if open_to_person else -1],
    )


def _because(
    move: MoveRules,
    unmet: list[tuple[Requirement, ...]],
    lacks: list[tuple[Reason, ...]],
    taken: int,
    first: int,
    judge: Judge,
) -> tuple[Reason, ...]:
    """What the chosen method rests on: each need and limit that is met. Where nobody is moved:
    what stands against the most supported method, or the means that the open one lacks."""
    if taken < len(unmet) - 1:
        needs = (each for each in move.options[taken].requires if not isinstance(each, Absent))
        return tuple(judge.reason(each) for each in needs)
    if first < taken:
        return lacks[first]
    return tuple(judge.reason(each) for each in unmet[taken - 1])


def _would_open(
    move: MoveRules,
    unmet: list[tuple[Requirement, ...]],
    lacks: list[tuple[Reason, ...]],
    taken: int,
    judge: Judge,
) -> WouldOpen | None:
    """Of the methods next above in activity, the one that needs the fewest changes."""
    support = move.options[taken].method.support
    above = [i for i in range(taken) if move.options[i].method.support < support]
    if not above:
        return None
    nearest = move.options[above[-1]].method.support

    def needed(index: int) -> tuple[Change, ...]:
        wanted = {c: None for each in unmet[index] for c in changes(each, judge.profile)}
        wanted |= {Change(r.about, r.seen, r.required): None for r in lacks[index]}
        return tuple(wanted)

    level = [i for i in above if move.options[i].method.support == nearest]
    best = min(level, key=lambda index: len(needed(index)))
    return WouldOpen(move.options[best].method.id, needed(best))


def _margin(book: RuleBook, requires: tuple[Requirement, ...], judge: Judge) -> list[str]:
    """Axes at exactly the grade that is asked, and numbers that pass by little."""
    share = limit(book, "margin_percent")
    named: list[str] = []
    for each in requires:
        if isinstance(each, Need):
            exactly = judge.profile.grade(each.axis) == each.grade
            if exactly and each.grade != GRADES[each.axis][-1]:
                named.append(each.axis)
        if isinstance(each, Limit) and _close(each, judge.profile.tenths(each.number), share):
            named.append(each.number)
    return list(dict.fromkeys(named))


def _close(requirement: Limit, seen: int | None, share: Decimal) -> bool:
    if seen is None:
        return False
    return abs(seen - requirement.value) * PERCENT < share * requirement.value
