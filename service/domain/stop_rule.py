"""At which standing stage did the standing part of the screen end, and what is then closed?

The part needs the rise, and ends at the first standing stage that was tried and not achieved on
any side. A stage that was not attempted, other than the rise, ends nothing.
"""

from collections.abc import Mapping, Sequence

from service.domain.stages import Outcome, Sides, Stage, Stages

STANDING = (Stage.RISE, Stage.WEIGHT_SHIFT, Stage.HEEL_RAISE, Stage.FOOT_LIFT)
REACHED = (Outcome.ACHIEVED, Outcome.ACHIEVED_WITH_HELP)


def ending_stage(outcomes: Mapping[Stage, Sequence[Outcome]]) -> Stage | None:
    """``outcomes``: of each standing stage, one a side where it has sides."""
    for stage in STANDING:
        seen = outcomes[stage]
        if any(outcome in REACHED for outcome in seen):
            continue
        if stage == Stage.RISE or Outcome.NOT_ACHIEVED in seen:
            return stage
    return None


def closed_stages(stages: Stages) -> tuple[Stage, ...]:
    """The stages that are not to be tried any more, in their order."""
    ended = ending_stage({stage: outcomes_of(stages, stage) for stage in STANDING})
    if ended is None:
        return ()
    later = STANDING[STANDING.index(ended) + 1 :]
    return (*later, Stage.TIMED_STAND) if ended == Stage.RISE else later


def outcomes_of(stages: Stages, stage: Stage) -> tuple[Outcome, ...]:
    """The outcomes of a standing stage, left before right."""
    result = getattr(stages, stage)
    if isinstance(result, Sides):
        return (result.left.outcome, result.right.outcome)
    return (result.outcome,)
