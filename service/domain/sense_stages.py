"""Do the outcomes, times and signs of the stages agree with each other?"""

from collections.abc import Iterator

from service.domain.problem import Fault
from service.domain.sense_rules import fault
from service.domain.stages import (
    Attempt,
    Help,
    Outcome,
    Rise,
    Sides,
    Sign,
    SignSeen,
    SittingBalance,
    Stage,
    Stages,
)
from service.domain.stop_rule import REACHED, STANDING, ending_stage

Tried = Attempt | Rise | SittingBalance


def stage_faults(stages: Stages, signs: list[SignSeen]) -> Iterator[Fault]:
    """Every fault of the stages and of the signs seen at them."""
    attempts = {stage: _attempts(stages, stage) for stage in Stage}
    for parts in attempts.values():
        for path, attempt in parts:
            yield from _help_faults(path, attempt)
    yield from _time_faults(stages)
    yield from _stop_rule(attempts)
    yield from _stand_faults(stages)
    yield from _sign_faults(stages, attempts, signs)


def _attempts(stages: Stages, stage: Stage) -> tuple[tuple[str, Tried], ...]:
    part = getattr(stages, stage)
    path = f"/stages/{stage}"
    if isinstance(part, Sides):
        return ((f"{path}/left", part.left), (f"{path}/right", part.right))
    if isinstance(part, (Attempt, Rise, SittingBalance)):
        return ((path, part),)
    return ()


def _help_faults(path: str, attempt: Tried) -> Iterator[Fault]:
    helped = attempt.outcome == Outcome.ACHIEVED_WITH_HELP
    if helped and attempt.help is None:
        yield fault(f"{path}/help", "sense.help_missing")
    if not helped and attempt.help is not None:
        yield fault(f"{path}/help", "sense.help_unexpected")
    for name in ("lift_kg", "lift_percent"):
        if getattr(attempt, name) is not None and attempt.help != Help.LIFTING:
            yield fault(f"{path}/{name}", "sense.lift_unexpected")


def _time_faults(stages: Stages) -> Iterator[Fault]:
    sitting, rise = stages.sitting_balance, stages.rise
    if sitting.seconds is not None and sitting.outcome == Outcome.NOT_ATTEMPTED:
        yield fault("/stages/sitting_balance/seconds", "sense.seconds_not_attempted")
    if rise.hands_used is not None and rise.outcome == Outcome.NOT_ATTEMPTED:
        yield fault("/stages/rise/hands_used", "sense.hands_not_attempted")


def _stop_rule(attempts: dict[Stage, tuple[tuple[str, Tried], ...]]) -> Iterator[Fault]:
    """Names the stage that ended the standing part once, and each later one achieved.

    One side not achieved while the other is leaves the stage achieved in part: what is seen
    on the stronger side is then no contradiction.
    """
    ended = ending_stage(
        {stage: [tried.outcome for _, tried in attempts[stage]] for stage in STANDING}
    )
    if ended is None:
        return
    later = [part for stage in STANDING[STANDING.index(ended) + 1 :] for part in attempts[stage]]
    reached = [path for path, tried in later if tried.outcome in REACHED]
    if not reached:
        return
    parts = attempts[ended]
    failed = [path for path, tried in parts if tried.outcome == Outcome.NOT_ACHIEVED]
    yield fault(f"{failed[0] if failed else parts[0][0]}/outcome", "sense.stop_rule")
    for path in reached:
        yield fault(f"{path}/outcome", "sense.stop_rule")


def _stand_faults(stages: Stages) -> Iterator[Fault]:
    stand = stages.timed_stand
    if stand.seconds is None and stand.ended_by is not None:
        yield fault("/stages/timed_stand/ended_by", "sense.end_without_seconds")
    if stand.seconds and stages.rise.outcome not in REACHED:
        yield fault("/stages/rise/outcome", "sense.stand_without_rise")
        yield fault("/stages/timed_stand/seconds", "sense.stand_without_rise")


def _sign_faults(
    stages: Stages, attempts: dict[Stage, tuple[tuple[str, Tried], ...]], signs: list[SignSeen]
) -> Iterator[Fault]:
    seen: set[tuple[Stage, Sign]] = set()
    for index, sign in enumerate(signs):
        if (sign.stage, sign.sign) in seen:
            yield fault(f"/signs/{index}", "sense.repeated")
        seen.add((sign.stage, sign.sign))
        if sign.sign != Sign.REFUSAL and not _attempted(stages, attempts, sign.stage):
            yield fault(f"/signs/{index}/stage", "sense.sign_not_attempted")


def _attempted(
    stages: Stages, attempts: dict[Stage, tuple[tuple[str, Tried], ...]], stage: Stage
) -> bool:
    if stage == Stage.TIMED_STAND:
        return stages.timed_stand.seconds is not None
    if stage == Stage.KNEE_EXTENSION:
        knees = stages.knee_extension
        return knees.left.mrc_grade is not None or knees.right.mrc_grade is not None
    return any(tried.outcome != Outcome.NOT_ATTEMPTED for _, tried in attempts[stage])
