"""Which addresses do screens have, and what do they promise?"""

from service.domain.record import Answer, ScreenRecord
from service.domain.screen import Screen
from service.domain.sense_rules import RULES
from service.web import parameters as use
from service.web import screens
from service.web.bodies import CorrectedScreen, WithdrawalReason
from service.web.operation import Given, Operation
from service.web.paging import Listed
from service.web.scopes import needs

_TAG = "screens"
_SENSE = "\n".join(f"- `{rule}`: {text}" for rule, text in RULES.items())
_SHAPE = (
    "A body that is no JSON, has a key twice or is nested too deep answers 400. Any other fault"
    " of the body answers 422 and lists **every** fault with its JSON Pointer and a rule word:"
    " `shape.…` for one field, `sense.…` for fields that contradict each other. Decimals keep"
    " their digits and may have at most 6 decimals (`shape.decimals`)."
)
_ANSWER = Given("The screen, its profile, the scored tests and the plan.", Answer)
_TAGGED = ("ETag", "Cache-Control")

SCREENS: tuple[Operation, ...] = (
    Operation(
        method="POST",
        path="/v1/screens",
        handler=screens.record,
        id="recordScreen",
        deed="screen.record",
        tag=_TAG,
        needs=needs("QuestionnaireResponse", "c"),
        summary="Record a screen: score it, choose a method for each move, plan",
        text=f"{_SHAPE}\n\nRules between fields:\n{_SENSE}",
        parameters=(use.IDEMPOTENCY_KEY,),
        body=Screen,
        examples="screen",
        answers={
            201: Given(
                "Kept. The screen, its profile, the scored tests and the plan.",
                Answer,
                headers=("Location", "Idempotency-Replayed", *_TAGGED),
            )
        },
        problems=(408, 409, 413, 415, 422),
    ),
    Operation(
        method="POST",
        path="/v1/screens/preview",
        handler=screens.preview,
        id="previewScreen",
        deed="screen.preview",
        tag=_TAG,
        needs=needs("QuestionnaireResponse", "c"),
        summary="Give the same answer and keep nothing",
        text=_SHAPE,
        body=Screen,
        examples="screen",
        answers={
            200: Given("The answer that recording would give; `patient_id` is empty.", Answer)
        },
        problems=(408, 413, 415, 422),
    ),
    Operation(
        method="GET",
        path="/v1/screens",
        handler=screens.changed_since,
        id="screensSince",
        deed="screen.list",
        tag=_TAG,
        needs=needs("QuestionnaireResponse", "s"),
        summary="List screens recorded since a time, oldest first: the feed for catching up",
        parameters=(use.SINCE, use.LIMIT, use.CURSOR),
        answers={200: Given("A page of screens.", Listed[ScreenRecord])},
        problems=(422,),
    ),
    Operation(
        method="GET",
        path="/v1/screens/{screen_id}",
        handler=screens.read,
        id="readScreen",
        deed="screen.read",
        tag=_TAG,
        needs=(*needs("QuestionnaireResponse", "r"), *needs("CarePlan", "r")),
        summary="Read a screen as it was recorded, its plan in the state of this moment",
        parameters=(use.id_of("screen_id", "screen"), use.VERSION, use.IF_NONE_MATCH),
        answers={
            200: Given(_ANSWER.text, Answer, headers=_TAGGED),
            304: Given("What you hold is as it is now."),
        },
        problems=(404,),
    ),
    Operation(
        method="PUT",
        path="/v1/screens/{screen_id}",
        handler=screens.correct,
        id="correctScreen",
        deed="screen.correct",
        tag=_TAG,
        needs=needs("QuestionnaireResponse", "u"),
        summary="Correct a screen: a new version with a new plan that replaces the old one",
        text=(
            "The body is the whole screen as it should have been, with `correction_reason` beside"
            f" its fields. Whose screen it is and `source_id` must stay. {_SHAPE}"
        ),
        parameters=(use.id_of("screen_id", "screen"), use.IF_MATCH_NEEDED),
        body=CorrectedScreen,
        examples="correction",
        answers={200: Given(_ANSWER.text, Answer, headers=_TAGGED)},
        problems=(404, 408, 409, 412, 413, 415, 422, 428),
    ),
    Operation(
        method="POST",
        path="/v1/screens/{screen_id}/withdraw",
        handler=screens.withdraw,
        id="withdrawScreen",
        deed="screen.withdraw",
        tag=_TAG,
        needs=needs("QuestionnaireResponse", "u"),
        summary="Withdraw a screen entered in error: kept, marked, the plan before it stands again",
        parameters=(use.id_of("screen_id", "screen"), use.IF_MATCH),
        body=WithdrawalReason,
        examples="withdrawal",
        answers={200: Given(_ANSWER.text, Answer, headers=_TAGGED)},
        problems=(404, 408, 409, 412, 413, 415, 422),
    ),
)
