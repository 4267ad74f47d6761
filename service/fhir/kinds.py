"""Of which kinds are the resources that tell of a patient as a whole?

There is one of a kind for each patient, and its id is the patient's with the kind behind it.
"""

from service.domain.plan import Goal

GOAL_STAGE = "goal-stage"
GOAL_STANDING = "goal-standing"
GOAL_KINDS = (GOAL_STAGE, GOAL_STANDING)
FLAG_FALLS = "flag-falls"
FLAG_DO_NOT_MOVE = "flag-do-not-move"
FLAG_KINDS = (FLAG_FALLS, FLAG_DO_NOT_MOVE)
TASK_RESCREEN = "task-rescreen"
TASK_KINDS = (TASK_RESCREEN,)


def goal_kind(goal: Goal) -> str:
    """A plan has at most one goal of each kind: the next stage, and the next time to stand."""
    return GOAL_STANDING if goal.stage is None else GOAL_STAGE


def patient_of_kind(resource_id: str, kinds: tuple[str, ...]) -> tuple[str, str] | None:
    """The patient's id and the kind that ``resource_id`` is made of; None where it is not."""
    for kind in kinds:
        if resource_id.endswith(f"-{kind}"):
            return resource_id.removesuffix(f"-{kind}"), kind
    return None
