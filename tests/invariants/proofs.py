"""Which person breaks a claim? Each claim is the formula of its opposite; none may be found.

The claims and their figures are typed here once more, apart from the rules they hold.
"""

from collections.abc import Callable, Iterator
from functools import cached_property

import z3

from service.domain.axis import Axis, Number
from service.domain.move import Move
from service.rules.book import RuleBook
from tests.invariants.claims import FLAT_DEVICES
from tests.invariants.person import TENTHS, Formula, Person
from tests.invariants.solver import READY, Answer, Means, whole
from tests.published.bounds import Bound, Mass, Row
from tests.published.rows import ROWS

STANDING = (
    "unaided",
    "walking_aid",
    "standby",
    "belt_steadied",
    "stand_aid",
    "powered_stand_lift",
)
LIES_FLAT = ("bed_to_stretcher", "reposition_in_bed", "turn_in_bed")
CARRIED = ("sling_lift", *FLAT_DEVICES, "do_not_move")
NOBODY_HOLDS_UP = (
    "powered_stand_lift",
    "floor_air_lift",
    "transfer_board",
    "recline_and_slide",
    *CARRIED,
)
ONE_HELPER_LIFTS_TENTHS_KG = 159
STEADIES_ONLY = ("transfer_belt", "walking_aid")


class Case:
    """Two people, two sets of means, and what the rules answer on one move."""

    def __init__(self, book: RuleBook, move: Move) -> None:
        self.book, self.move = book, move
        self.person, self.worse = Person("person"), Person("worse")
        self.means = Means("means", book.device_classes)
        self.fewer = Means("fewer", book.device_classes)
        self.answer = Answer(book, move, self.person, self.means)

    @cached_property
    def of_the_worse(self) -> Answer:
        return Answer(self.book, self.move, self.worse, self.means)

    @cached_property
    def with_fewer(self) -> Answer:
        return Answer(self.book, self.move, self.person, self.fewer)

    def broken_by(self, wrong: Formula, *shown: Answer) -> str | None:
        """Somebody for whom ``wrong`` holds, in words; None where there is nobody."""
        solver = self._solver
        solver.push()
        solver.add(wrong)
        found = solver.check()
        said = None
        if found == z3.sat:
            model = solver.model()
            said = " | then ".join(each.told(model) for each in shown or (self.answer,))
        why = solver.reason_unknown() if found == z3.unknown else ""
        solver.pop()
        if why:
            raise AssertionError(f"the solver gave up: {why}")
        return said

    @cached_property
    def _solver(self) -> Formula:
        solver = z3.Solver()
        for free in (self.person, self.worse, self.means, self.fewer):
            solver.add(free.possible())
        return solver


Claim = Callable[[Case], str | None]


def withheld_is_not_moved(case: Case) -> str | None:
    """1. Withheld or unknown clearance: do not move; uprightness so: nobody sits or stands."""
    moved = z3.Not(case.answer.among("do_not_move"))
    cleared = case.person.reaches(Axis.CLEARANCE, "review")
    upright = case.person.reaches(Axis.UPRIGHT, "review")
    if case.move in LIES_FLAT:
        return case.broken_by(z3.And(moved, z3.Not(cleared)))
    return case.broken_by(z3.And(moved, z3.Not(z3.And(cleared, upright))))


def nobody_stands_without_weight_bearing(case: Case) -> str | None:
    """2. No method that needs standing where weight-bearing is none or unknown."""
    bears = case.person.reaches(Axis.WEIGHT_BEARING, "partial")
    return case.broken_by(z3.And(case.answer.among(*STANDING), z3.Not(bears)))


def stand_aid_needs_what_it_needs(case: Case) -> str | None:
    """3. No stand aid without both arms, instructions followed, lean, and a rise not lifted."""
    person = case.person
    needed = z3.And(
        person.reaches(Axis.ARMS, "both"),
        person.reaches(Axis.COOPERATION, "prompted"),
        person.reaches(Axis.LEAN, "able"),
        person.reaches(Axis.RISE, "with_hands"),
        _lifts_at_most(case, 0),
    )
    return case.broken_by(z3.And(case.answer.among("stand_aid"), z3.Not(needed)))


def uncooperative_is_carried_by_two(case: Case) -> str | None:
    """4. Cooperation none: only a sling lift, a flat-move device or no move, by two at least."""
    calm = case.person.reaches(Axis.COOPERATION, "prompted")
    carried = z3.And(case.answer.among(*CARRIED), case.answer.helpers >= 2)
    return case.broken_by(z3.And(z3.Not(calm), z3.Not(carried)))


def nobody_lifts_too_much(case: Case) -> str | None:
    """5. Over 15.9 kg (or unknown) held up by a helper: only a device that carries, or no move."""
    held_up = z3.Not(case.answer.among(*NOBODY_HOLDS_UP))
    return case.broken_by(z3.And(held_up, z3.Not(_lifts_at_most(case, ONE_HELPER_LIFTS_TENTHS_KG))))


def less_able_is_never_asked_more(case: Case) -> str | None:
    """6. Nobody who is no better gets less support, nor fewer helpers where all means are there;
    8. unknown being the least of each axis and number."""
    no_better = case.worse.no_better_than(case.person)
    more_asked = case.of_the_worse.support < case.answer.support
    fewer_hands = z3.And(case.means.unlimited(), case.of_the_worse.helpers < case.answer.helpers)
    wrong = z3.And(no_better, z3.Or(more_asked, fewer_hands))
    return case.broken_by(wrong, case.answer, case.of_the_worse)


def missing_means_never_ask_more(case: Case) -> str | None:
    """7. A helper or a device less, or a weaker one: never a more demanding method."""
    fewer = case.fewer.no_more_than(case.means)
    wrong = z3.And(fewer, case.with_fewer.support < case.answer.support)
    return case.broken_by(wrong, case.answer, case.with_fewer)


def unknown_is_never_better(case: Case) -> str | None:
    """8. The same person with anything no longer known: never less support."""
    less_known = case.worse.less_known_than(case.person)
    wrong = z3.And(less_known, case.of_the_worse.support < case.answer.support)
    return case.broken_by(wrong, case.answer, case.of_the_worse)


def no_device_is_overloaded(case: Case) -> str | None:
    """9. Every chosen device is ready and, where it bears load, known to carry the person."""
    faults = []
    for option, taken in zip(case.answer.options, case.answer.taken, strict=True):
        wanted = option.method.device_class
        if wanted is None:
            continue
        fit = case.means.status[wanted] == READY
        if wanted not in STEADIES_ONLY:
            mass = case.person.numbers[Number.MASS_KG]
            carries = z3.And(
                case.person.known[Number.MASS_KG],
                case.means.load_known[wanted],
                z3.Not(mass > case.means.load[wanted]),
            )
            fit = z3.And(fit, carries)
        faults.append(z3.And(taken, z3.Not(fit)))
    return case.broken_by(z3.And(case.means.listed, z3.Or(*faults)))


def there_is_exactly_one_answer(case: Case) -> str | None:
    """10. One option is taken, whatever is said, and never one for which helpers are missing."""
    taken = z3.Sum(*(z3.If(each, whole(1), whole(0)) for each in case.answer.taken))
    moved = z3.Not(case.answer.among("do_not_move"))
    short = z3.And(moved, case.means.counted, case.answer.helpers > case.means.helpers)
    return case.broken_by(z3.Or(taken != 1, short))


def rows_are_respected(case: Case) -> str | None:
    """11. In each row of the published tables: one of its methods or a more supported one, and
    where all means are there at least its helpers. (Where they are not, a sling for two stands
    in for a sheet for three, which the figures allow.)"""
    rows = {row: _row_broken(case, row) for row in ROWS if case.move in row.moves}
    if case.broken_by(z3.Or(*rows.values())) is None:
        return None
    told = ((row.says, case.broken_by(wrong)) for row, wrong in rows.items())
    return next(f"{says}: {found}" for says, found in told if found)


def _row_broken(case: Case, row: Row) -> Formula:
    least = min(case.book.methods[method].support for method in row.methods)
    within = [_reached(case.person, bound) for bound in row.where]
    within += [case.person.present[each] for each in row.present]
    too_few = z3.And(case.means.unlimited(), case.answer.helpers < row.helpers)
    wrong = z3.Or(case.answer.support < least, too_few)
    return z3.And(wrong, *within)


def _reached(person: Person, bound: Bound | Mass) -> Formula:
    if isinstance(bound, Bound):
        reached = person.reaches(bound.axis, bound.grade)
        return reached if bound.reached else z3.Not(reached)
    known, mass = person.known[Number.MASS_KG], person.numbers[Number.MASS_KG]
    lighter = z3.And(known, mass < z3.RealVal(str(bound.kg * TENTHS)))
    return z3.Not(lighter) if bound.reached else lighter


def _lifts_at_most(case: Case, tenths: int) -> Formula:
    lift = Number.HELPER_LIFT_KG
    return z3.And(case.person.known[lift], case.person.numbers[lift] <= tenths)


CLAIMS: dict[str, Claim] = {
    "1": withheld_is_not_moved,
    "2": nobody_stands_without_weight_bearing,
    "3": stand_aid_needs_what_it_needs,
    "4": uncooperative_is_carried_by_two,
    "5": nobody_lifts_too_much,
    "6": less_able_is_never_asked_more,
    "7": missing_means_never_ask_more,
    "8": unknown_is_never_better,
    "9": no_device_is_overloaded,
    "10": there_is_exactly_one_answer,
    "11": rows_are_respected,
}


def counter_examples(book: RuleBook, move: Move, *claims: str) -> Iterator[str]:
    """For each of ``claims`` (none named: all) that is broken on ``move``: who breaks it."""
    case = Case(book, move)
    for name in claims or CLAIMS:
        found = CLAIMS[name](case)
        if found is not None:
            yield f"{name}. {found}"
