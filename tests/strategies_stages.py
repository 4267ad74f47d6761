"""Which stages and signs can hypothesis draw, so that the stop rule holds?"""

from hypothesis import strategies as st

from service.domain.stages import (
    Attempt,
    Help,
    KneeExtension,
    KneeStrength,
    Outcome,
    Rise,
    Sides,
    Sign,
    SignSeen,
    SittingBalance,
    Stage,
    Stages,
    StandEnd,
    TimedStand,
)
from tests.strategies_basics import maybe, number

REACHED = (Outcome.ACHIEVED, Outcome.ACHIEVED_WITH_HELP)


@st.composite
def attempts(draw: st.DrawFn, outcomes: tuple[Outcome, ...] = tuple(Outcome)) -> Attempt:
    outcome = draw(st.sampled_from(outcomes))
    if outcome != Outcome.ACHIEVED_WITH_HELP:
        return Attempt(outcome=outcome)
    given = draw(st.sampled_from(Help))
    if given != Help.LIFTING:
        return Attempt(outcome=outcome, help=given)
    lifted, share = draw(maybe(number("0", "300"))), draw(maybe(st.integers(1, 100)))
    return Attempt(outcome=outcome, help=given, lift_kg=lifted, lift_percent=share)


@st.composite
def sitting_balances(draw: st.DrawFn) -> SittingBalance:
    tried = draw(attempts())
    seen = tried.outcome != Outcome.NOT_ATTEMPTED
    return SittingBalance(
        outcome=tried.outcome,
        help=tried.help,
        lift_kg=tried.lift_kg,
        lift_percent=tried.lift_percent,
        seconds=draw(maybe(number("0", "3600"))) if seen else None,
    )


@st.composite
def rises(draw: st.DrawFn) -> Rise:
    tried = draw(attempts())
    seen = tried.outcome != Outcome.NOT_ATTEMPTED
    return Rise(
        outcome=tried.outcome,
        help=tried.help,
        lift_kg=tried.lift_kg,
        lift_percent=tried.lift_percent,
        hands_used=draw(maybe(st.booleans())) if seen else None,
    )


@st.composite
def stages(draw: st.DrawFn) -> Stages:
    """Standing stages go on only while the stop rule lets them."""
    rise = draw(rises())
    going = rise.outcome in REACHED
    standing: dict[str, Sides] = {}
    for name in ("weight_shift", "heel_raise", "foot_lift"):
        unreached = (Outcome.NOT_ATTEMPTED, Outcome.NOT_ACHIEVED)
        one = attempts(tuple(Outcome) if going else unreached)
        sides = Sides(left=draw(one), right=draw(one))
        outcomes = {sides.left.outcome, sides.right.outcome}
        going = going and (bool(outcomes & set(REACHED)) or Outcome.NOT_ACHIEVED not in outcomes)
        standing[name] = sides
    longest = "3600" if rise.outcome in REACHED else "0"
    seconds = draw(maybe(number("0", longest)))
    ended = None if seconds is None else draw(maybe(st.sampled_from(StandEnd)))
    knee = st.builds(KneeStrength, mrc_grade=maybe(st.integers(0, 5)))
    return Stages(
        sitting_balance=draw(sitting_balances()),
        forward_lean=draw(attempts()),
        arm_pull=Sides(left=draw(attempts()), right=draw(attempts())),
        knee_extension=draw(st.builds(KneeExtension, left=knee, right=knee)),
        rise=rise,
        timed_stand=TimedStand(seconds=seconds, ended_by=ended),
        **standing,
    )


def was_attempted(done: Stages, stage: Stage) -> bool:
    if stage == Stage.TIMED_STAND:
        return done.timed_stand.seconds is not None
    part = getattr(done, stage)
    if isinstance(part, KneeExtension):
        return part.left.mrc_grade is not None or part.right.mrc_grade is not None
    parts = (part.left, part.right) if isinstance(part, Sides) else (part,)
    return any(tried.outcome != Outcome.NOT_ATTEMPTED for tried in parts)


@st.composite
def signs(draw: st.DrawFn, done: Stages) -> list[SignSeen]:
    possible = [
        (stage, sign)
        for stage in Stage
        for sign in Sign
        if sign == Sign.REFUSAL or was_attempted(done, stage)
    ]
    seen = draw(st.lists(st.sampled_from(possible), unique=True, max_size=5))
    return [SignSeen(stage=stage, sign=sign) for stage, sign in seen]
