"""What would open a more active method, what is worth asking next, and how is it said plainly?"""

from collections.abc import Iterable
from decimal import Decimal

from service.domain.axis import RANK
from service.domain.profile import Finding, Profile
from service.domain.reason import AskNext, Change, WouldOpen
from service.domain.requirement import Absent, AnyOf, Limit, Need, Requirement
from service.rules.book import RuleBook
from service.rules.evaluate import TENTHS, WORDS, Judge, told
from service.rules.finding import NOT_RECORDED
from service.rules.select import Choice, Weighed, rests_on

_UNSEEN = (NOT_RECORDED, "not_attempted")
_STAGES = "/stages/"


def would_open(choice: Choice, judge: Judge) -> WouldOpen | None:
    """The fewest changes that open the next more active method; of several as active, the one
    that needs the fewest. Null where none is more active.

    Requirements speak of independent facts and all must hold, so the fewest changes are one for
    each fact that falls short, to the strictest that is asked of it.
    """
    support = choice.option.method.support
    above = [each for each in choice.weighed if each.option.method.support < support]
    if not above:
        return None
    nearest = above[-1].option.method.support
    level = [each for each in above if each.option.method.support == nearest]
    best = min(level, key=lambda each: len(_needed(each, judge)))
    return WouldOpen(best.option.method.id, _needed(best, judge))


def _needed(weighed: Weighed, judge: Judge) -> tuple[Change, ...]:
    simple = [part for each in weighed.unmet for part in _fewest(each)]
    wanted = [Change(*told(each, judge.profile)) for each in strictest(simple)]
    return (*wanted, *(Change(each.about, each.seen, each.required) for each in weighed.lacks))


def _fewest(requirement: Requirement) -> tuple[Need | Limit | Absent, ...]:
    """One way to meet it: of an either-or, the first."""
    return requirement.parts[:1] if isinstance(requirement, AnyOf) else (requirement,)


def strictest(
    requirements: Iterable[Need | Limit | Absent],
) -> tuple[Need | Limit | Absent, ...]:
    """One requirement for each fact: the one that, met, meets all the others about it."""
    by_fact: dict[str, Need | Limit | Absent] = {}
    for each in requirements:
        fact = _fact(each)
        if fact not in by_fact or _strictness(each) > _strictness(by_fact[fact]):
            by_fact[fact] = each
    return tuple(by_fact.values())


def _fact(requirement: Need | Limit | Absent) -> str:
    if isinstance(requirement, Need):
        return requirement.axis
    return requirement.condition if isinstance(requirement, Absent) else requirement.number


def _strictness(requirement: Need | Limit | Absent) -> int:
    if isinstance(requirement, Need):
        return RANK[requirement.axis][requirement.grade]
    if isinstance(requirement, Absent):
        return 0
    return requirement.value if requirement.comparison == "at_least" else -requirement.value


def ask_next(book: RuleBook, choice: Choice, judge: Judge) -> AskNext | None:
    """The one unknown thing that alone keeps the most active method shut; null where none does."""
    support = choice.option.method.support
    above = (each for each in choice.weighed if each.option.method.support < support)
    for each in above:
        asked = _asked(each.unmet, judge.profile)
        if asked is not None and len(asked) == 1 and not each.lacks:
            path = asked.pop()
            return AskNext(path, _question(book, path), each.option.method.id)
    return None


def _asked(unmet: Iterable[Requirement], profile: Profile) -> set[str] | None:
    """Where the answers would be recorded that could meet ``unmet``; None where something known
    stands against it."""
    asked: set[str] = set()
    for each in unmet:
        places = [_places(part, profile) for part in _parts(each)]
        unknown = [place for place in places if place]
        if not unknown:
            return None
        asked |= min(unknown, key=len)
    return asked


def _parts(requirement: Requirement) -> tuple[Need | Limit | Absent, ...]:
    return requirement.parts if isinstance(requirement, AnyOf) else (requirement,)


def _places(requirement: Need | Limit | Absent, profile: Profile) -> set[str]:
    """Where the unknown findings behind an unmet requirement are recorded; empty where what
    stands against it is known."""
    found: tuple[Finding, ...]
    if isinstance(requirement, Need):
        found = profile.axes[requirement.axis].set_by if not profile.known(requirement.axis) else ()
    elif isinstance(requirement, Limit):
        number = profile.numbers[requirement.number]
        found = number.set_by if number.value is None else ()
    else:
        found = profile.conditions[requirement.condition]
        if any(each.seen not in _UNSEEN for each in found):
            return set()
    return {_place(each.path) for each in found if each.seen in _UNSEEN}


def _place(path: str) -> str:
    """A finding of a stage is asked for by doing the stage again."""
    if not path.startswith(_STAGES):
        return path
    return _STAGES + path.removeprefix(_STAGES).split("/")[0]


def _question(book: RuleBook, path: str) -> str:
    name = path.rsplit("/", 1)[1]
    return book.stages[name].asks if path.startswith(_STAGES) else book.asks[name]


def plainly(book: RuleBook, choice: Choice, judge: Judge, opens: WouldOpen | None) -> Iterable[str]:
    """The reasons in words for the bedside: what the choice rests on, and what keeps the next
    more active method shut."""
    method = choice.option.method
    if choice.lacking:
        yield f"{method.title}: " + " ".join(f"{each.why}." for each in choice.lacking)
    elif choice.moves_nobody:
        last = choice.weighed[choice.taken - 1]
        simple = (part for each in last.unmet for part in _fewest(each))
        yield f"{method.title}: " + " ".join(short(book, each, judge) for each in simple)
    else:
        whys = (each.why for each in rests_on(choice, judge))
        yield f"{method.title}: " + " ".join(f"{why}." for why in dict.fromkeys(whys))
    if opens is None:
        return
    next_up = next(each for each in choice.weighed if each.option.method.id == opens.method)
    yield f"{next_up.option.method.title}: not yet. {against(book, next_up, judge)}"


def against(book: RuleBook, weighed: Weighed, judge: Judge) -> str:
    """What stands against a method, in plain sentences; empty where nothing does."""
    asked = strictest(part for each in weighed.unmet for part in _fewest(each))
    reasons = [short(book, each, judge) for each in asked]
    return " ".join([*reasons, *[f"{each.why}." for each in weighed.lacks]])


def short(book: RuleBook, requirement: Need | Limit | Absent, judge: Judge) -> str:
    """An unmet requirement in one plain sentence: what was seen and what it takes."""
    if isinstance(requirement, Need):
        words = book.axes[requirement.axis]
        seen = words.grades[judge.profile.grade(requirement.axis)]
        return (
            f"{words.title}: {_small(seen)}; it takes: {_small(words.grades[requirement.grade])}."
        )
    if isinstance(requirement, Limit):
        value = judge.profile.numbers[requirement.number].value
        asked = f"{WORDS[requirement.comparison]} {Decimal(requirement.value) / TENTHS}"
        seen = "not known" if value is None else str(value)
        return f"{book.numbers[requirement.number]}: {seen}; it takes: {asked}."
    return f"{book.conditions[requirement.condition].title}."


def _small(words: str) -> str:
    return words[:1].lower() + words[1:]
