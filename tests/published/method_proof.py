"""Who is answered by a method without bringing what it asks, or by too few helpers?"""

import z3

from service.domain.axis import Axis, Number
from service.domain.condition import Condition
from service.domain.move import Move
from tests.invariants.person import TENTHS, Formula, Person
from tests.invariants.proofs import Case
from tests.published import method_table as table

FLAT_MOVES = (Move.REPOSITION_IN_BED, Move.TURN_IN_BED, Move.BED_TO_STRETCHER)


def unfit(case: Case) -> str | None:
    """Somebody on whom the move is done by a method that is not for them; None: nobody."""
    wrong = [
        z3.And(taken, z3.Not(_fits(case, option.method.id)))
        for option, taken in zip(case.answer.options[:-1], case.answer.taken, strict=False)
    ]
    return case.broken_by(z3.Or(*wrong))


def understaffed(case: Case) -> str | None:
    """Somebody moved by fewer helpers than the method asks for; None: nobody."""
    wrong = [
        z3.And(taken, count < _least(case, option.method.id))
        for option, taken, count in zip(
            case.answer.options[:-1], case.answer.taken, case.answer.counts, strict=False
        )
    ]
    return case.broken_by(z3.Or(*wrong))


def _fits(case: Case, method: str) -> Formula:
    person, move = case.person, case.move
    brings = dict(table.BRINGS.get(method, {}))
    seconds = table.STANDS_S.get(method)
    if method == "stand_aid":
        seconds = table.STANDS_S_ON_AN_AID.get(move, seconds)
        brings |= table.WALKS_ON_AN_AID if move == Move.WALK else {}
    told = [person.reaches(axis, grade) for axis, grade in brings.items()]
    for forbids in (table.FORBIDS, table.FORBIDS_ON.get(move, {})):
        told += [z3.Not(person.present[each]) for each, names in forbids.items() if method in names]
    if seconds is not None:
        stood = person.numbers[Number.STANDING_TIME_S] >= seconds * TENTHS
        told.append(z3.And(person.known[Number.STANDING_TIME_S], stood))
    if method in table.LIFTED_TENTHS_KG:
        told.append(_at_most(person, Number.HELPER_LIFT_KG, table.LIFTED_TENTHS_KG[method]))
    if method in table.DEEP_ON_A_SHEET:
        awake = z3.Not(person.present[Condition.DEEPLY_SEDATED])
        told.append(z3.Or(awake, _at_most(person, Number.MASS_KG, table.DEEP_ON_A_SHEET_TENTHS_KG)))
    return z3.And(*told)


def _at_most(person: Person, number: Number, tenths: int) -> Formula:
    return z3.And(person.known[number], person.numbers[number] <= tenths)


def _least(case: Case, method: str) -> Formula:
    """The helpers the method asks for, with one more where there are tubes or lines."""
    person = case.person
    base = table.HELPERS_ON.get((case.move, method), table.HELPERS[method])
    asked: list[tuple[Formula, int]] = []
    if method in table.VERY_HEAVY_HELPERS:
        heaviest = person.present[Condition.VERY_HEAVY]
        asked.append((heaviest, table.VERY_HEAVY_HELPERS[method]))
    if method in table.SUPPORTED_SITTING_HELPERS:
        supported = z3.Not(person.reaches(Axis.SITTING, "unsupported"))
        asked.append((supported, table.SUPPORTED_SITTING_HELPERS[method]))
    known, mass = person.known[Number.MASS_KG], person.numbers[Number.MASS_KG]
    heavy = z3.Not(z3.And(known, mass < table.HEAVY_TENTHS_KG))
    if case.move in FLAT_MOVES and method in table.FLAT_ON_A_DEVICE:
        asked.append((heavy, table.HEAVY_HELPERS))
    if case.move == Move.BED_TO_STRETCHER and table.HELPERS[method]:
        restless = z3.Not(person.reaches(Axis.COOPERATION, "prompted"))
        asked.append((restless, table.UNCOOPERATIVE_HELPERS))
        asked.append((z3.And(restless, heavy), table.UNCOOPERATIVE_HEAVY_HELPERS))
        asked.append((person.present[Condition.DEEPLY_SEDATED], table.DEEP_HELPERS))
    least = z3.IntVal(base)
    for due, count in asked:
        least = z3.If(z3.And(due, least < count), z3.IntVal(count), least)
    lines = person.present[Condition.TUBES_OR_LINES]
    return least + z3.If(lines, z3.IntVal(table.LINES_HELPERS), z3.IntVal(0))
