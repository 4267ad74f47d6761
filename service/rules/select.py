"""Which method is chosen for a move: the least supported one that is open, or more support?"""

from collections.abc import Iterator
from decimal import Decimal

from msgspec import Struct

from service.domain.axis import GRADES
from service.domain.context import Context
from service.domain.move import Move
from service.domain.reason import Reason, RuledOut
from service.domain.requirement import Absent, AnyOf, Limit, Need, Requirement
from service.rules.book import MoveRules, Option, RuleBook
from service.rules.evaluate import Judge
from service.rules.finding import limit
from service.rules.helper_load import loads_of
from service.rules.means import missing

PERCENT = Decimal(100)


class Weighed(Struct, frozen=True):
    """An option and all that stands against it: what the person does not meet, and what is not
    there."""

    option: Option
    unmet: tuple[Requirement, ...]
    lacks: tuple[Reason, ...]

    @property
    def open_to_person(self) -> bool:
        return not self.unmet


class Choice(Struct, frozen=True):
    """What was chosen for a move among ``weighed``, which keeps the order of support.

    ``taken`` is its place. ``first``: the place of the least supported option the person could
    do if every means were there.
    """

    weighed: tuple[Weighed, ...]
    taken: int
    first: int

    @property
    def option(self) -> Option:
        return self.weighed[self.taken].option

    @property
    def moves_nobody(self) -> bool:
        return self.taken == len(self.weighed) - 1

    @property
    def lacking(self) -> tuple[Reason, ...]:
        """The means that would let the person be moved, where nobody is moved for want of them."""
        waits = self.moves_nobody and self.first < self.taken
        return self.weighed[self.first].lacks if waits else ()

    @property
    def interim(self) -> Option:
        """The most supported option open to the person, for when the plan has lapsed."""
        doable = [each.option for each in self.weighed[:-1] if each.open_to_person]
        return doable[-1] if doable else self.weighed[-1].option


def select(book: RuleBook, move: MoveRules, judge: Judge, context: Context) -> Choice:
    """The choice for ``move``. The options stand in the order of support, the last one moves
    nobody and is always open, so there is exactly one answer."""
    weighed = tuple(
        Weighed(
            option,
            tuple(each for each in option.requires if not judge.holds(each)),
            missing(book, context, option, judge),
        )
        for option in move.options
    )
    places = range(len(weighed))
    first = next(place for place in places if weighed[place].open_to_person)
    taken = next(
        place for place in places if weighed[place].open_to_person and not weighed[place].lacks
    )
    return Choice(weighed, taken, first)


def because(choice: Choice, judge: Judge) -> tuple[Reason, ...]:
    """What the chosen method rests on: each need and limit that is met. Where nobody is moved:
    what stands against the most supported method, or the means that the open one lacks."""
    if not choice.moves_nobody:
        return tuple(judge.reason(each) for each in rests_on(choice, judge))
    if choice.lacking:
        return choice.lacking
    last = choice.weighed[choice.taken - 1]
    return tuple(judge.reason(each) for each in last.unmet)


def rests_on(choice: Choice, judge: Judge) -> Iterator[Requirement]:
    """What the person brings to the chosen method; that a condition is not there is left out."""
    for each in choice.option.requires:
        parts = each.parts if isinstance(each, AnyOf) else (each,)
        if not any(isinstance(part, Absent) and judge.holds(part) for part in parts):
            yield each


def ruled_out(book: RuleBook, choice: Choice, move: Move, judge: Judge) -> tuple[RuledOut, ...]:
    """Every method that something stands against, with all of it."""
    return tuple(
        RuledOut(
            each.option.method.id,
            (*(judge.reason(requirement) for requirement in each.unmet), *each.lacks),
            loads_of(book, each.option.method, move, judge),
        )
        for each in choice.weighed
        if each.unmet or each.lacks
    )


def margin(book: RuleBook, choice: Choice, judge: Judge) -> tuple[str, ...]:
    """Axes at exactly the grade that is asked, and numbers that pass by little."""
    share = limit(book, "margin_percent")
    named: list[str] = []
    for each in choice.option.requires:
        if isinstance(each, Need):
            exactly = judge.profile.grade(each.axis) == each.grade
            if exactly and each.grade != GRADES[each.axis][-1]:
                named.append(each.axis.value)
        if isinstance(each, Limit) and _close(each, judge.profile.tenths(each.number) or 0, share):
            named.append(each.number.value)
    return tuple(dict.fromkeys(named))


def _close(requirement: Limit, seen: int, share: Decimal) -> bool:
    return abs(seen - requirement.value) * PERCENT < share * requirement.value
