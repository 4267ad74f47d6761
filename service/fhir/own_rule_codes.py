"""Which codes does the rule book give us?"""

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec.inspect as shape

from service.domain.axis import GRADES, UNKNOWN, Number
from service.domain.citation import Citation
from service.domain.measured_tests import MeasuredTests
from service.domain.requirement import AnyOf, Requirement
from service.fhir.own_codes import OwnCode, OwnSystem, own, system
from service.fhir.text import sentence
from service.fhir.units import without_unit
from service.rules.book import Method, RuleBook
from service.rules.files import AxisFile, ConditionFile, WordFile
from service.rules.means import MEANS
from service.rules.norm_files import NormFile

# Scores that are told under a code of their own: see score_findings.
VARIANTS = {
    "chair_stand_30s": {"chair_stand_30s_arms_used": "with the arms used"},
    "gait_speed": {"gait_speed_4m": "over 4 m"},
}
# Parts under another name than the field that they were sent in.
_PART_VARIANTS = {"chair_stand_30s": ("count_with_arms",)}


def rule_systems(book: RuleBook) -> Iterator[OwnSystem]:
    """A system a kind, each in the order of the rule book."""
    yield system(
        "method",
        "Methods of moving a person",
        "How a person is moved. Lower rank: the person does more.",
        [_method(one) for one in book.methods.values()],
    )
    yield system(
        "move",
        "Moves",
        "From where to where, or what for, a person is moved.",
        [
            own(move.value, rules.title, definition=sentence(rules.plain), citation=rules.citation)
            for move, rules in book.moves.items()
        ],
    )
    yield system("rule", "Rules", "What a method asks for, on a move or always.", _rules(book))
    goals = [own(one.id, one.text, citation=one.citation) for one in book.goals]
    yield system("goal", "Goals", "What a person is to reach next.", goals)
    yield from _word_systems(book)
    yield from _axis_systems(book)
    yield from _test_systems(book)


def _method(one: Method) -> OwnCode:
    return own(one.id, one.title, definition=one.plain, citation=one.citation, rank=one.support)


def _rules(book: RuleBook) -> Iterator[OwnCode]:
    for rules in book.moves.values():
        for option in rules.options:
            for one in option.requires:
                yield from _requirement(one)
            for more in option.more_helpers:
                yield own(more.rule, more.why, citation=more.citation)
    for method in book.methods.values():
        if method.helpers is not None:
            yield own(f"{method.id}.helpers", method.helpers_why, citation=method.helpers_citation)
        if method.device_class is not None:
            title = book.device_classes[method.device_class].title
            yield own(f"{method.id}.device", f"A usable device: {title}", citation=MEANS)


def _requirement(one: Requirement) -> Iterator[OwnCode]:
    yield own(one.rule, one.why, citation=one.citation)
    if isinstance(one, AnyOf):
        for part in one.parts:
            yield from _requirement(part)


def _word_systems(book: RuleBook) -> Iterator[OwnSystem]:
    classes, accessories = _worded(book.device_classes), _worded(book.accessories)
    yield system("device_class", "Classes of equipment", "Equipment by what it does.", classes)
    told = "What goes with a method or its device."
    yield system("accessory", "Accessories", told, accessories)
    told = "Facts that ask for more support."
    yield system("condition", "Conditions", told, _worded(book.conditions))
    stages = [
        own(
            name, file.title, definition=file.asks, rank=file.order,
            citation=Citation(file.source, file.standing),
        )
        for name, file in book.stages.items()
    ]  # fmt: skip
    yield system("stage", "Stages of the screen", "What is tried, in this order.", stages)
    numbers = [own(number.value, book.numbers[number]) for number in Number]
    yield system("number", "Numbers that rules limit", "Measured or derived numbers.", numbers)


def _worded(files: Mapping[Any, WordFile | ConditionFile | AxisFile]) -> list[OwnCode]:
    return [
        own(
            str(name), file.title, definition=file.note,
            citation=Citation(file.source, file.standing),
        )
        for name, file in files.items()
    ]  # fmt: skip


def _axis_systems(book: RuleBook) -> Iterator[OwnSystem]:
    told = "What a person can do, axis by axis."
    yield system("axis", "Axes of capability", told, _worded(book.axes))
    for axis, file in book.axes.items():
        title = f"Grades of {file.title}"
        told = "Ordered, worst first. Not known is no grade: it is told as absent data."
        yield system(f"grade-{axis.value}", title, told, _grades(GRADES[axis], file))


def _grades(grades: tuple[str, ...], file: AxisFile) -> Iterator[OwnCode]:
    known = [grade for grade in grades if grade != UNKNOWN]
    for rank, grade in enumerate(known):
        yield own(grade, file.grades[grade], rank=rank)


def _test_systems(book: RuleBook) -> Iterator[OwnSystem]:
    tests = {test: book.norms[test] for test in MeasuredTests.__struct_fields__}
    told = "Measured tests, each with published norms."
    yield system("test", "Tests", told, [one for test in tests for one in _test(test, tests[test])])
    parts = [
        own(f"{test}.{part}", sentence(without_unit(part)), definition=f"Part of: {norm.title}")
        for test, norm in tests.items()
        for part in _parts(test, norm)
    ]
    yield system("test_part", "Parts of tests", "What a test's score is made of.", parts)
    judged = [
        own(
            f"{test}.{rule.id}.{outcome}", told,
            citation=Citation(rule.source, rule.standing),
        )
        for test, norm in tests.items()
        for rule in norm.rules
        for outcome, told in rule.outcomes.items()
    ]  # fmt: skip
    yield system("judgement", "Judgements", "What a published norm says of a score.", judged)


def _test(test: str, norm: NormFile) -> Iterator[OwnCode]:
    yield own(test, norm.title, definition=norm.note)
    for variant, told in VARIANTS.get(test, {}).items():
        yield own(variant, f"{norm.title}, {told}", definition=norm.note)


def _parts(test: str, norm: NormFile) -> dict[str, None]:
    """By the fields in which a test is sent, the points that they give, and other names."""
    names = [*_FIELDS[test], *(table.gives for table in norm.points)]
    return dict.fromkeys([*names, *_PART_VARIANTS.get(test, ())])


def _fields(kind: shape.Type) -> Iterator[str]:
    """The fields of a test that hold a result, which yes and no is not."""
    if isinstance(kind, shape.UnionType):
        for part in kind.types:
            yield from _fields(part)
    if isinstance(kind, shape.StructType):
        yield from [one.name for one in kind.fields if not isinstance(one.type, shape.BoolType)]


def _by_test() -> dict[str, tuple[str, ...]]:
    whole = shape.type_info(MeasuredTests)
    fields = whole.fields if isinstance(whole, shape.StructType) else ()
    return {one.name: tuple(_fields(one.type)) for one in fields}


_FIELDS = _by_test()
