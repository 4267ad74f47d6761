"""What must whoever comes to the bedside know at once?

One Flag for a risk of falling and one for moves that are not to be made now, each the same
resource for as long as the patient is known.
"""

from collections.abc import Iterator

from service.application.ports import Standing, Stood
from service.domain.condition import Condition
from service.domain.plan import PlanState
from service.fhir.codes import SAFETY
from service.fhir.evidence import finding_at
from service.fhir.kinds import FLAG_DO_NOT_MOVE, FLAG_FALLS
from service.fhir.narrative import bullets, narrative, safe
from service.fhir.site import Site
from service.fhir.spell import Spell, spell_of
from service.fhir.standing_resources import Flag
from service.fhir.structs import Extension, Period, Reference
from service.fhir.text import words
from service.fhir.whole import Whole, whole_of
from service.rules.build import LAST_RESORT

_DETAIL = "http://hl7.org/fhir/StructureDefinition/flag-detail"
_SIGNS = (
    Condition.TUG_AT_RISK,
    Condition.CHAIR_STAND_BELOW_AVERAGE,
    Condition.LOSS_OF_BALANCE,
    Condition.KNEE_BUCKLING,
)
"""Conditions that are only there when they were seen; a fall that was not asked about is none."""
_JUDGED = {
    ("four_stage_balance.cdc", "at_risk"),
    ("functional_reach.duncan", "at_risk"),
    ("functional_reach.duncan_short", "at_high_risk"),
}
"""Published cut points for falling that are no condition of the rule book."""
_ENDED = {
    PlanState.SUPERSEDED: "inactive",
    PlanState.WITHDRAWN: "entered-in-error",
}
Code = tuple[str, str]
_FALLS: Code = ("falls", "At risk of falls")
_NO_MOVE: Code = ("do_not_move", "Do not move now")
_SOME_MOVES: Code = ("moves_not_now", "Some moves are not to be made now")
Seen = tuple[str, str | None]
"""What is told, and the place of the screen that it was read at."""


def flags_of(site: Site, standing: Standing) -> tuple[Flag, ...]:
    """Every Flag that this patient has or had, in a fixed order. A plan that ran out takes no
    flag down: nobody has looked at the person again."""
    return flags(whole_of(site, standing))


def flags(whole: Whole) -> tuple[Flag, ...]:
    standing = whole.standing
    falls = spell_of(standing, lambda stood: any(_falls(stood)))
    still = spell_of(standing, lambda stood: any(_not_moved(stood)))
    found = []
    if falls is not None:
        told = list(_falls(falls.stood))
        found.append(_flag(whole, FLAG_FALLS, falls, told, _FALLS))
    if still is not None:
        told = list(_not_moved(still.stood))
        whole_person = len(told) == len(still.stood.plan.plan.moves)
        code = _NO_MOVE if whole_person else _SOME_MOVES
        found.append(_flag(whole, FLAG_DO_NOT_MOVE, still, told, code))
    return tuple(found)


def _flag(whole: Whole, kind: str, spell: Spell, told: list[Seen], code: Code) -> Flag:
    status, told_as = _status(whole, spell), code[1]
    return Flag(
        id=whole.id_of(kind),
        meta=whole.meta("flag"),
        text=narrative(
            f"<p>{safe(told_as)}. Status: {status}.</p>" + bullets("Why", [why for why, _ in told])
        ),
        extension=tuple([_detail(one) for one in _evidence(spell, told)]),
        identifier=whole.identifier(kind),
        status=status,
        category=(SAFETY,),
        code=whole.site.concept("flag", *code),
        subject=whole.subject,
        period=Period(spell.since, spell.until),
        encounter=whole.encounter,
        author=whole.software,
    )


def _status(whole: Whole, spell: Spell) -> str:
    if not spell.sound:
        return "entered-in-error"
    return "inactive" if not spell.now else _ENDED.get(whole.state, "active")


def _falls(stood: Stood) -> Iterator[Seen]:
    """Falls that were counted, signs that were seen, tests past a published cut point."""
    conditions = stood.profile.conditions
    if stood.screen.content.patient.falls_last_12_months:
        yield "Fell in the last 12 months.", None
    for condition in _SIGNS:
        for finding in conditions.get(condition, ()):
            seen = words(finding.seen)
            yield f"{seen[:1].upper()}{seen[1:]}", finding.path
    for test in stood.tests:
        for one in test.judgements:
            if (one.rule, one.outcome) in _JUDGED:
                yield one.text, f"/tests/{test.test}"


def _not_moved(stood: Stood) -> Iterator[Seen]:
    """By the rules, or because a clinician chose so."""
    for move in stood.plan.plan.moves:
        if move.method == LAST_RESORT:
            why = f" Reason: {move.overrule.reason}" if move.overrule else ""
            yield f"{move.plain}{why}", None


def _evidence(spell: Spell, told: list[Seen]) -> list[str]:
    """The Observations it rests on; where none tells it, the plan does. A flag that an earlier
    plan raised says in words alone what it had rested on."""
    if not spell.now:
        return []
    screen = spell.stood.screen
    found = [finding_at(screen.content, path) for _, path in told if path is not None]
    named = dict.fromkeys([f"Observation/{screen.id}-{one}" for one in found if one is not None])
    return list(named) or [f"CarePlan/{spell.stood.plan.plan.id}"]


def _detail(reference: str) -> Extension:
    return Extension(url=_DETAIL, value_reference=Reference(reference=reference))
