"""Which operation of our own can be called?"""

from service.fhir.definitions.heads import head
from service.fhir.definitions.plan_elements import OperationDefinition, Parameter
from service.fhir.narrative import bullets
from service.fhir.site import Site

SCREEN = "screen"
_ABOUT = (
    "Takes a bedside mobility screen as a QuestionnaireResponse, records it, and answers with"
    " everything made from it: findings, care plan and where they come from."
)
_COMMENT = (
    "POST [base]/$screen or [base]/QuestionnaireResponse/$screen, which do the same, with the"
    " QuestionnaireResponse as the body, or in Parameters. All or nothing is kept. A screen with"
    " faults is refused with every fault and its place."
)


def operations(site: Site) -> list[OperationDefinition]:
    parameters = (
        Parameter(
            name="response", use="in", min=1, max="1", type="QuestionnaireResponse",
            documentation="The screen as it was answered.",
        ),
        Parameter(
            name="return", use="out", min=1, max="1", type="Bundle",
            documentation="A collection of all that was made.",
        ),
    )  # fmt: skip
    told = [f"{one.use} {one.name}: {one.type}. {one.documentation}" for one in parameters]
    return [
        OperationDefinition(
            **head(
                site, "OperationDefinition", SCREEN, "Record a screen", _ABOUT,
                bullets("Parameters", told),
            ),
            kind="operation",
            affects_state=True,
            code=SCREEN,
            comment=_COMMENT,
            resource=("QuestionnaireResponse",),
            system=True,
            type=True,
            instance=False,
            parameter=parameters,
        )
    ]  # fmt: skip
