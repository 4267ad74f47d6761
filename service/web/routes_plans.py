"""Which addresses do plans have, and what do they promise?"""

from service.domain.move import Move
from service.domain.plan import Plan, PlannedMove
from service.web import parameters as use
from service.web import plans
from service.web.negotiate import Form
from service.web.operation import Given, Operation, Parameter
from service.web.scopes import needs

_TAG = "plans"
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
        answers={200: Given("The answer for the move.", PlannedMove, (Form.NATIVE,))},
        problems=(404,),
    ),
)
