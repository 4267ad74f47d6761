"""Do the safety claims hold for every person and all means at once, as a solver proves them?"""

from collections.abc import Callable
from decimal import Decimal
from random import Random

import pytest
import z3
from msgspec.structs import replace

from service.domain.axis import GRADES, RANK, Axis, Number
from service.domain.citation import Citation, Standing
from service.domain.condition import Condition
from service.domain.context import Context, DeviceAtHand, DeviceStatus
from service.domain.move import Move
from service.domain.profile import AxisGrade, NumberSeen, Profile
from service.domain.requirement import Absent, Limit, Requirement
from service.rules.book import MoveRules, RuleBook
from service.rules.evaluate import Judge
from service.rules.load import load_book
from service.rules.means import helper_count
from service.rules.select import select
from tests.invariants.claims import all_of
from tests.invariants.grid import NOBODY
from tests.invariants.proofs import Case, counter_examples
from tests.invariants.solver import STATUSES
from tests.invariants.weakened import WEAKENED, weakened

ENUMERATED = ("1", "2", "3", "4", "5", "6")


@pytest.mark.parametrize("move", Move)
def test_nobody_breaks_a_claim(move: Move) -> None:
    assert list(counter_examples(load_book(), move)) == []


def changed(book: RuleBook, move: Move, rules: MoveRules) -> RuleBook:
    return replace(book, moves={**book.moves, move: rules})


def turned_round(book: RuleBook, move: Move) -> RuleBook:
    """Mass limited from below instead of above."""
    rules = book.moves[move]

    def turned(requirement: Requirement) -> Requirement:
        if isinstance(requirement, Limit) and requirement.number == Number.MASS_KG:
            return replace(requirement, comparison="at_least")
        return requirement

    options = (replace(o, requires=tuple(map(turned, o.requires))) for o in rules.options)
    return changed(book, move, replace(rules, options=tuple(options)))


def out_of_order(book: RuleBook, move: Move) -> RuleBook:
    """The most supported method asked first."""
    rules = book.moves[move]
    options = (*reversed(rules.options[:-1]), rules.options[-1])
    return changed(book, move, replace(rules, options=options))


def unanswered(book: RuleBook, move: Move) -> RuleBook:
    """The last resort forbidden to somebody."""
    rules = book.moves[move]
    never = Absent("x", Condition.STOMA, "x", Citation("common_practice", Standing.PRACTICE))
    options = (*rules.options[:-1], replace(rules.options[-1], requires=(never,)))
    return changed(book, move, replace(rules, options=options))


def overloaded(book: RuleBook, _: Move) -> RuleBook:
    """The stand aid said to bear no load."""
    aid = replace(book.device_classes["stand_aid"], carries_person=False)
    return replace(book, device_classes={**book.device_classes, "stand_aid": aid})


def alone_with_a_sling(book: RuleBook, move: Move) -> RuleBook:
    rules = book.moves[move]
    options = tuple(
        replace(o, method=replace(o.method, helpers=1)) if o.method.id == "sling_lift" else o
        for o in rules.options
    )
    return changed(book, move, replace(rules, options=options))


@pytest.mark.parametrize(
    ("claim", "move", "weaken"),
    [
        ("6", Move.REPOSITION_IN_BED, turned_round),
        ("7", Move.BED_TO_CHAIR, out_of_order),
        ("8", Move.BED_TO_CHAIR, out_of_order),
        ("9", Move.BED_TO_CHAIR, overloaded),
        ("10", Move.TURN_IN_BED, unanswered),
        ("11", Move.BED_TO_CHAIR, alone_with_a_sling),
    ],
)
def test_the_proof_of_a_claim_can_fail(
    claim: str, move: Move, weaken: Callable[[RuleBook, Move], RuleBook]
) -> None:
    (found,) = counter_examples(weaken(load_book(), move), move, claim)
    assert f"{move}: " in found and "clearance: " in found


@pytest.mark.parametrize(("move", "method", "drop"), WEAKENED)
def test_solver_and_enumeration_agree_on_a_weakened_book(
    move: Move, method: str, drop: Callable[[Requirement], bool]
) -> None:
    book = weakened(load_book(), move, method, drop)
    solved = list(counter_examples(book, move, *ENUMERATED))
    enumerated = list(all_of(book, move, [frozenset()]))
    assert bool(solved) == bool(enumerated)
    assert solved


def drawn(random: Random) -> tuple[Profile, Context]:
    """Somebody and some means, mostly able, so that all methods are reached."""
    book = load_book()

    def number(each: Number) -> NumberSeen:
        able = Decimal(60 if each == Number.STANDING_TIME_S else 0)
        others = [None, *map(Decimal, ("5", "10.1", "71", "90.7"))]
        return NumberSeen(random.choice([able, able, able, *others]))

    def grade(axis: Axis) -> AxisGrade:
        top = GRADES[axis][-1]
        return AxisGrade(random.choice([*([top] * 9), *GRADES[axis]]))

    profile = Profile(
        {axis: grade(axis) for axis in Axis},
        {each: number(each) for each in Number},
        dict.fromkeys(random.sample(list(Condition), random.choice([0, 0, 0, 1, 3])), ()),
    )
    devices = [
        DeviceAtHand(
            device_class=each,
            status=random.choice([DeviceStatus.READY, *DeviceStatus]),
            safe_working_load_kg=random.choice([None, Decimal(80), Decimal(200)]),
        )
        for each in sorted(book.device_classes)
        if random.random() < 0.8
    ]
    helpers = random.choice([None, None, 0, 1, 1, 2, 3, 4])
    return profile, Context(trained_helpers=helpers, devices=random.choice(["any", "any", devices]))


def fixed(case: Case, profile: Profile, context: Context) -> list[z3.BoolRef]:
    """The formulas by which the solver's person and means are this one."""
    person, means = case.person, case.means
    facts = [person.grades[axis] == RANK[axis][profile.grade(axis)] for axis in Axis]
    for number in Number:
        tenths = profile.tenths(number)
        facts += [person.known[number] == (tenths is not None)]
        facts += [person.numbers[number] == (tenths or 0)]
    facts += [person.present[each] == profile.has(each) for each in Condition]
    there = context.trained_helpers
    facts += [means.counted == (there is not None), means.helpers == (there or 0)]
    facts += [means.listed == (context.devices != "any")]
    listed = {} if context.devices == "any" else {d.device_class: d for d in context.devices}
    for each, status in means.status.items():
        device = listed.get(each)
        load = device.safe_working_load_kg if device else None
        facts += [status == STATUSES.index(device.status if device else None)]
        facts += [means.load_known[each] == (load is not None)]
        facts += [means.load[each] == int(load * 10 if load else 0)]
    return facts


def same_answer(case: Case, model: z3.ModelRef, profile: Profile, context: Context) -> bool:
    """Whether the service answers as the formulas do in ``model``."""
    judge = Judge(profile)
    choice = select(case.book, case.book.moves[case.move], judge, context)
    count, _ = helper_count(choice.option, judge)
    helpers = NOBODY if count is None else count
    return f": {choice.option.method.id} x{helpers} for " in case.answer.told(model)


@pytest.mark.parametrize("move", Move)
def test_the_service_gives_the_answers_of_the_formulas(move: Move) -> None:
    """The formulas and the service's evaluator are two readings of one declaration."""
    case, random = Case(load_book(), move), Random(str(move))  # noqa: S311
    solver = z3.Solver()
    for _ in range(40):
        profile, context = drawn(random)
        solver.push()
        solver.add(*fixed(case, profile, context))
        assert solver.check() == z3.sat
        assert same_answer(case, solver.model(), profile, context)
        solver.pop()


@pytest.mark.parametrize("move", Move)
def test_every_method_of_a_move_is_somebodys_answer_in_both_readings(move: Move) -> None:
    case = Case(load_book(), move)
    for taken in case.answer.taken:
        solver = z3.Solver()
        solver.add(case.person.possible(), case.means.possible(), taken)
        solver.add(*(z3.IsInt(value) for value in case.person.numbers.values()))
        assert solver.check() == z3.sat
        model = solver.model()
        assert same_answer(case, model, case.person.found(model), case.means.found(model))
