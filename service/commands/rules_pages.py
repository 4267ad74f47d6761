"""How is a part of the rule book written down for a reader?"""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from service.domain.citation import Citation, Standing
from service.domain.condition import Condition
from service.domain.requirement import Absent, AnyOf, Limit, Need, Requirement
from service.rules.book import (
    AccessoryRule,
    HelperRule,
    Method,
    MoveRules,
    RuleBook,
    SaidRule,
    StepRule,
)
from service.rules.evaluate import TENTHS, WORDS
from service.rules.files import ExampleTable, Parameter
from service.rules.norm_files import Change, Cut, NormFile, NormRule
from service.rules.texts import written

NOTICE = (
    "Local policy, the device maker's instructions and the judgement of licensed staff come first."
)


def method_page(book: RuleBook, method: Method) -> list[str]:
    """The page of a method, a Markdown line each."""
    count = "as its rules say" if method.helpers is None else str(method.helpers)
    helpers = f"- Helpers: {count}. {method.helpers_why} {cited(book, method.helpers_citation)}"
    return [
        *_top(book, method.title, method.plain, method.citation),
        *_part("With what", _means(book, method)),
        *_part("What it needs", (_asked(book, each) for each in method.requires)),
        *_part("Helpers", (helpers, *(_helpers(book, each) for each in method.more_helpers))),
        *_part("Accessories", (_accessory(book, each) for each in method.accessories)),
        *_part("Steps", (_said(book, each) for each in method.steps)),
        *_part("Cautions", (_said(book, each) for each in method.cautions)),
        *_part("Stop signs", (_said(book, each) for each in method.stop_signs)),
        *_part("Worked examples", (_example(book, each) for each in method.examples)),
    ]


def _means(book: RuleBook, method: Method) -> Iterator[str]:
    device = method.device_class
    yield f"- Equipment: {'none' if device is None else book.device_classes[device].title}"
    trained = ", ".join(each.replace("_", " ") for each in method.training)
    yield f"- Each helper is trained in: {trained or 'nothing special'}"
    served = sorted(
        f"[{rules.title}](../moves/{move}.md)"
        for move, rules in book.moves.items()
        if any(option.method.id == method.id for option in rules.options)
    )
    yield f"- It serves: {', '.join(served)}"


def _example(book: RuleBook, each: ExampleTable) -> str:
    """What is known of the person; everything else is not."""
    known = [f"{book.axes[a].title}: “{book.axes[a].grades[g]}”" for a, g in each.grades.items()]
    known += [f"{book.numbers[name]}: {value}" for name, value in each.numbers.items()]
    known += [f"with: {book.conditions[one].title}" for one in each.conditions]
    answer = book.methods[each.method].title
    helpers = "" if each.helpers is None else f", helpers: {each.helpers}"
    seen = "; ".join(known) or "nothing is known of the person"
    return f"- {each.says} {book.moves[each.move].title} ({seen}) → {answer}{helpers}"


def move_page(book: RuleBook, move: MoveRules) -> list[str]:
    """The page of a move; the methods stand in order of support."""
    lines = _top(book, move.title, move.plain, move.citation)
    for option in move.options:
        asked = [_asked(book, each) for each in option.requires]
        asked += [_helpers(book, each) for each in option.more_helpers]
        lines += _part(f"{option.method.title} (`{option.method.id}`)", asked)
        if not asked:
            lines += [f"## {option.method.title} (`{option.method.id}`)", "", "- Asks nothing.", ""]
    return lines + _part("Cautions", (_said(book, each) for each in move.cautions))


def norm_page(book: RuleBook, norm: NormFile) -> list[str]:
    lines = [f"# {norm.title}", "", NOTICE, "", *([norm.note, ""] if norm.note else [])]
    for rule in norm.rules:
        lines += _part(f"Judgement: {rule.id}", _judged(book, norm, rule))
    for table in norm.points:
        rows = [f"- {row.holds} {row.value}: {row.points} points" for row in table.rows]
        source = cited(book, Citation(table.source, table.standing))
        rows += [f"- otherwise: {table.otherwise}; not able: {table.unable} {source}"]
        rows += [f"- Note: {table.note}"] if table.note else []
        lines += _part(f"Points from {table.reads}", rows)
    fixed = [
        f"- {each.score} when {each.when}: {each.why} "
        f"{cited(book, Citation(each.source, each.standing))}"
        for each in norm.fixed
    ]
    change = [
        f"- {each.value} {each.unit} ({each.kind}, {each.claim}) "
        f"{cited(book, Citation(each.source, each.standing))}{_beside(each)}"
        for each in norm.change
    ]
    lines += [*_part("Fixed scores", fixed), *_part("Change", change)]
    return lines + _part("No change is judged", (f"- {each}" for each in [norm.no_change] if each))


def condition_page(book: RuleBook, condition: Condition) -> list[str]:
    file = book.conditions[condition]
    citation = Citation(file.source, file.standing)
    said = (("A clinician confirms", file.confirm), ("Caution", file.caution))
    lines = _top(book, file.title, file.note or "A condition of the person.", citation)
    lines += _part("What is said", (f"- {name}: {text}" for name, text in said if text))
    asked = {
        f"- {option.method.title}: {_asked(book, each).removeprefix('- ')}": None
        for move in book.moves.values()
        for option in move.options
        for each in option.requires
        if condition in _conditions(each)
    }
    helped = {
        f"- {option.method.title}: {_helpers(book, each).removeprefix('- ')}": None
        for move in book.moves.values()
        for option in move.options
        for each in option.more_helpers
        if each.unless is not None and condition in _conditions(each.unless)
    }
    return [*lines, *_part("What it closes", asked), *_part("Whom it calls", helped)]


def parameter_page(book: RuleBook) -> list[str]:
    """Every number of the rule book, and what a hospital's overlay may make of it."""
    lines = ["# The numbers", "", NOTICE, "", "| name | value | what | overlay | rests on |"]
    lines.append("|---|---|---|---|---|")
    for name, each in sorted(book.parameters.items()):
        source = cited(book, Citation(each.source, each.standing))
        unit = "" if each.unit == "1" else f" {each.unit}"
        lines.append(
            f"| `{name}` | {written(each)}{unit} | {each.what} | {_overlay(each)} | {source} |"
        )
    return [*lines, ""]


def _overlay(each: Parameter) -> str:
    free = each.standing == Standing.DEFAULT
    down = each.lowest if free or each.stricter == "lower" else None
    up = each.highest if free or each.stricter == "higher" else None
    told = [f"down to {down}"] if down is not None else []
    told += [f"up to {up}"] if up is not None else []
    return ", ".join(told) or "not"


def _conditions(requirement: Requirement) -> set[Condition]:
    parts = requirement.parts if isinstance(requirement, AnyOf) else (requirement,)
    return {part.condition for part in parts if isinstance(part, Absent)}


def words(book: RuleBook, requirement: Requirement) -> str:
    """What is asked, in plain words, with the value."""
    if isinstance(requirement, Need):
        axis = book.axes[requirement.axis]
        return f"{axis.title}: at least “{axis.grades[requirement.grade]}”"
    if isinstance(requirement, Limit):
        value = Decimal(requirement.value) / TENTHS
        return f"{book.numbers[requirement.number]}: {WORDS[requirement.comparison]} {value}"
    if isinstance(requirement, Absent):
        return f"Not with: {book.conditions[requirement.condition].title}"
    return " or ".join(words(book, part) for part in requirement.parts)


def cited(book: RuleBook, citation: Citation) -> str:
    return f"[{book.sources[citation.source].title}; {citation.standing}]"


def _top(book: RuleBook, title: str, plain: str, citation: Citation) -> list[str]:
    return [f"# {title}", "", NOTICE, "", f"{plain} {cited(book, citation)}", ""]


def _part(title: str, lines: Iterable[str]) -> list[str]:
    content = list(lines)
    return [f"## {title}", "", *content, ""] if content else []


def _asked(book: RuleBook, each: Requirement) -> str:
    parts = each.parts if isinstance(each, AnyOf) else (each,)
    named = [f" (`{part.parameter}`)" for part in parts if isinstance(part, Limit)]
    return f"- {words(book, each)}{''.join(named)}. {each.why}. {cited(book, each.citation)}"


def _unless(book: RuleBook, unless: Requirement | None) -> str:
    return "" if unless is None else f" (unless {words(book, unless)})"


def _helpers(book: RuleBook, each: HelperRule) -> str:
    count = f"helpers: {each.add} more" if each.add else f"at least {each.at_least} helpers"
    return f"- {count}{_unless(book, each.unless)}. {each.why}. {cited(book, each.citation)}"


def _accessory(book: RuleBook, each: AccessoryRule) -> str:
    title = book.accessories[each.accessory].title
    where = _where(book, each)
    return f"- {title}{where}{_unless(book, each.unless)}. {each.why}. {cited(book, each.citation)}"


def _said(book: RuleBook, each: SaidRule | StepRule) -> str:
    where = _where(book, each)
    return f"- {each.text}{where}{_unless(book, each.unless)} {cited(book, each.citation)}"


def _where(book: RuleBook, each: AccessoryRule | SaidRule | StepRule) -> str:
    titles = sorted(book.moves[move].title for move in each.moves)
    return f" (only: {'; '.join(titles)})" if titles else ""


def _judged(book: RuleBook, norm: NormFile, rule: NormRule) -> Iterator[str]:
    for cut in rule.cuts:
        unit = rule.unit or norm.unit
        yield f"- {cut.holds} {cut.value} {unit}{_whom(cut)}: {rule.outcomes[cut.outcome]}"
    yield f"- otherwise: {rule.outcomes[rule.otherwise]}"
    if rule.unable is not None:
        yield f"- not able: {rule.outcomes[rule.unable]}"
    if rule.no_norm is not None:
        yield f"- no norm: {rule.no_norm}"
    yield f"- Source: {cited(book, Citation(rule.source, rule.standing))}{_beside(rule)}"


def _beside(each: NormRule | Change) -> str:
    """What is written beside a value: a note, and where other sources say something else."""
    note = f" Note: {each.note}" if each.note else ""
    return note + (f" Other sources: {each.dissent}" if each.dissent else "")


def _whom(cut: Cut) -> str:
    ages = "" if cut.age_from is None else f", from age {cut.age_from}"
    ages += "" if cut.age_to is None else f", to age {cut.age_to}"
    return ages if cut.sex is None else f", {cut.sex}{ages}"
