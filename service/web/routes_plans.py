"""Which addresses do plans have, and what do they promise?"""

from service.domain.lifecycle import PlanEnded
from service.domain.move import Move
from service.domain.overruling import Decision
from service.domain.plan import MoveNow, Plan
from service.web import parameters as use
from service.web import plans
from service.web.negotiate import Form
from service.web.operation import Given, Operation, Parameter
from service.web.scopes import needs

_TAG = "plans"
_TAGGED = ("ETag", "Cache-Control")
_ID = use.id_of("plan_id", "plan")

PLANS: tuple[Operation, ...] = (
    Operation(
        method="GET",
        path="/v1/plans/{plan_id}",
        handler=plans.read,
        id="readPlan",
        deed="plan.read",
        tag=_TAG,
        needs=needs("CarePlan", "r"),
        summary="Read a plan in its state of this moment",
        parameters=(_ID, use.IF_NONE_MATCH),
        answers={
            200: Given("The plan.", Plan, headers=("ETag", "Cache-Control")),
            304: Given("What you hold is as it is now."),
        },
        problems=(404,),
    ),
    Operation(
        method="GET",
        path="/v1/plans/{plan_id}/moves/{move}",
        handler=plans.read_move,
        id="readPlannedMove",
        deed="plan.read",
        tag=_TAG,
        needs=needs("CarePlan", "r"),
        summary="Read the answer for one move: method, helpers, steps",
        parameters=(_ID, Parameter("move", "path", Move, "The move.", required=True)),
        answers={200: Given("The answer for the move, as it stands now.", MoveNow, (Form.NATIVE,))},
        problems=(404,),
    ),
    Operation(
        method="POST",
        path="/v1/plans/{plan_id}/overrule",
        handler=plans.overrule,
        id="overrulePlan",
        deed="plan.overrule",
        tag=_TAG,
        needs=needs("CarePlan", "u"),
        summary="Choose otherwise for one move, as a clinician, with a reason",
        text=(
            "The chosen method takes the place of the computed one, with its helpers, equipment"
            " and steps; `overrule` beside it keeps the computed answer whole and says who chose,"
            " why, whether the choice gives **less support** than was computed and what the rules"
            " hold against it. Any method that serves the move may be chosen; the computed one"
            " takes an earlier choice back. It is a new version of the same plan. Only the plan"
            " that stands can be overruled (409). A plan that replaces an overruled one is"
            " computed anew and says in `notices` what had been chosen; so does one that stands"
            " again because the overruled one's screen was withdrawn."
        ),
        parameters=(_ID, use.IF_MATCH_NEEDED),
        body=Decision,
        examples="overrule",
        answers={200: Given("The plan with the choice in it.", Plan, headers=_TAGGED)},
        problems=(404, 408, 409, 412, 413, 415, 422, 428),
    ),
    Operation(
        method="POST",
        path="/v1/plans/{plan_id}/lapse",
        handler=plans.lapse,
        id="lapsePlan",
        deed="plan.lapse",
        tag=_TAG,
        needs=needs("CarePlan", "u"),
        summary="End the plan before its time: a fall, new sedation, a changed order",
        text=(
            "`trigger` is one of the plan's own `rescreen_when`, named by the last word of its"
            " rule. From then on the plan is lapsed and `while_lapsed` says what to do until the"
            " next screen. A plan that had lapsed already stays as it is. A plan that comes to"
            " stand in its place, of a screen that was observed before that, is lapsed too;"
            " `happened_at` says when it was, where it was not just now."
        ),
        parameters=(_ID, use.IF_MATCH),
        body=PlanEnded,
        examples="lapse",
        answers={200: Given("The plan, lapsed.", Plan, headers=_TAGGED)},
        problems=(404, 408, 409, 412, 413, 415, 422),
    ),
)
