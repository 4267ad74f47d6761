"""How is a decision of the rule book drawn? As a Mermaid flowchart."""

from collections.abc import Iterator

from service.commands.rules_check import implies
from service.commands.rules_pages import words
from service.domain.requirement import Limit, Need, Requirement
from service.rules.book import Method, MoveRules, Option, RuleBook
from service.rules.norm_files import Cut, NormFile, NormRule

LEFT_OUT = (
    "Left out of the picture: the helpers who are there and their training, the safe working load"
    " and the fit of a device. What is missing there leads to more support, never to less."
)


def move_picture(book: RuleBook, move: MoveRules) -> list[str]:
    """The first method in the order of support whose needs are all met."""
    drawn: list[str] = []
    for at, option in enumerate(move.options):
        drawn.append(f'  q{at}{{"{_question(book, option)}"}} -->|yes| m{at}["{_method(option)}"]')
        if at + 1 < len(move.options):
            drawn.append(f"  q{at} -->|no or not known| q{at + 1}")
    return _picture("How it is chosen", drawn, LEFT_OUT)


def method_picture(book: RuleBook, method: Method) -> list[str]:
    """What the person brings, what the numbers are, and what stands against it, in turn."""
    rooms: list[tuple[str, list[Requirement]]] = [
        ("Brings", [each for each in method.requires if isinstance(each, Need)]),
        ("Measured", [each for each in method.requires if isinstance(each, Limit)]),
        ("Nothing against it", [x for x in method.requires if not isinstance(x, Need | Limit)]),
    ]
    asked = [(title, _asked(book, each)) for title, each in rooms if each]
    device = method.device_class
    asked += [] if device is None else [("At hand", [book.device_classes[device].title])]
    drawn: list[str] = []
    for at, (title, lines) in enumerate(asked):
        drawn.append(f'  q{at}{{"{_quoted("<br>".join([f"{title}:", *lines]))}"}}')
        drawn.append(f"  q{at} -->|no or not known| other")
        drawn.append(f"  q{at} -->|yes| {f'q{at + 1}' if at + 1 < len(asked) else 'this'}")
    drawn.append(f'  this["{_quoted(method.title)}"]')
    if asked:
        drawn.append('  other["Not this method"]')
    return _picture("When it is open", drawn, "A move may ask more; its own page says what.")


def norm_picture(norm: NormFile) -> list[str]:
    """From the value to the outcome of each judgement. Cuts by age or sex are in the text."""
    drawn = [line for at, rule in enumerate(norm.rules) for line in _rule(norm, rule, at)]
    return _picture("How it is judged", drawn) if drawn else []


def _rule(norm: NormFile, rule: NormRule, at: int) -> Iterator[str]:
    unit = rule.unit or norm.unit
    yield f'  r{at}(["{_quoted(f"{norm.title}: {rule.id}")}"])'
    before = f"  r{at}"
    for place, (cuts, outcome) in enumerate(_steps(rule)):
        said = " or ".join(f"{cut.holds} {cut.value} {unit}{_whom(cut)}" for cut in cuts)
        yield f'{before} --> r{at}q{place}{{"{_quoted(said)}"}}'
        yield f'  r{at}q{place} -->|yes| r{at}o{place}["{_quoted(rule.outcomes[outcome])}"]'
        before = f"  r{at}q{place}"
    yield f'{before} -->|no| r{at}o["{_quoted(rule.outcomes[rule.otherwise])}"]'


def _steps(rule: NormRule) -> list[tuple[list[Cut], str]]:
    """Cuts for different people that lead to one outcome are one step."""
    steps: dict[str, list[Cut]] = {}
    for cut in rule.cuts:
        steps.setdefault(cut.outcome, []).append(cut)
    return [(cuts, outcome) for outcome, cuts in steps.items()]


def _whom(cut: Cut) -> str:
    ages = "" if cut.age_from is None else f" {cut.age_from}-{cut.age_to}"
    return f"{ages} {cut.sex}" if cut.sex else ages


def _method(option: Option) -> str:
    return _quoted(option.method.title)


def _question(book: RuleBook, option: Option) -> str:
    device = option.method.device_class
    at_hand = [] if device is None else [f"At hand: {book.device_classes[device].title}"]
    return _quoted("<br>".join([*_asked(book, option.requires), *at_hand])) or "Always"


def _asked(book: RuleBook, requires: tuple[Requirement, ...] | list[Requirement]) -> list[str]:
    """Each requirement once, and none that another one holds already."""
    kept: list[Requirement] = []
    for each in requires:
        if not any(implies(other, each) for other in kept):
            kept = [*(other for other in kept if not implies(each, other)), each]
    return [words(book, each) for each in kept]


def _quoted(text: str) -> str:
    return text.replace('"', "'")


def _picture(title: str, drawn: list[str], below: str = "") -> list[str]:
    lines = [f"## {title}", "", "```mermaid", "flowchart TD", *drawn, "```", ""]
    return [*lines, below, ""] if below else lines
