"""Which addresses do the rule book, the health of the service and the document have?"""

from service.domain.citation import Source
from service.domain.move import Move
from service.rules.book import Method, MoveRules
from service.rules.files import Id, StageFile
from service.web import docs_page, health, metrics_page, rule_pages
from service.web.health import Health
from service.web.negotiate import Form
from service.web.operation import Given, Handler, Operation, Parameter

_NATIVE = (Form.NATIVE,)


def _rule(path: str, handler: Handler, name: str, summary: str, kind: object) -> Operation:
    return Operation(
        method="GET",
        path=path,
        handler=handler,
        id=name,
        tag="rules",
        summary=summary,
        parameters=_PARAMETERS.get(path, ()),
        answers={200: Given("As the rule book has it.", kind, _NATIVE)},
        problems=(404,) if path in _PARAMETERS else (),
    )


_PARAMETERS = {
    "/v1/rules/methods/{method_id}": (
        Parameter("method_id", "path", Id, "The method.", required=True),
    ),
    "/v1/rules/moves/{move_id}": (Parameter("move_id", "path", Move, "The move.", required=True),),
}

RULES: tuple[Operation, ...] = (
    _rule(
        "/v1/rules",
        rule_pages.summary,
        "readRuleBook",
        "Read which rule book answers, its methods and moves",
        rule_pages.RuleBookSummary,
    ),
    _rule(
        "/v1/rules/methods/{method_id}",
        rule_pages.method,
        "readMethod",
        "Read what a method asks for, with its sources",
        Method,
    ),
    _rule(
        "/v1/rules/moves/{move_id}",
        rule_pages.move,
        "readMove",
        "Read which methods serve a move, and on what terms",
        MoveRules,
    ),
    _rule(
        "/v1/rules/stages",
        rule_pages.stages,
        "readStages",
        "Read how each stage of the screen is asked",
        dict[str, StageFile],
    ),
    _rule(
        "/v1/rules/sources",
        rule_pages.sources,
        "readSources",
        "Read the sources that the rules rest on",
        dict[str, Source],
    ),
)


def _health(name: str, handler: Handler, summary: str, problems: tuple[int, ...]) -> Operation:
    return Operation(
        method="GET",
        path=f"/health/{name}",
        handler=handler,
        id=f"health{name.title()}",
        tag="health",
        summary=summary,
        answers={200: Given("It is.", Health, _NATIVE)},
        problems=problems,
        open=True,
    )


HEALTH: tuple[Operation, ...] = (
    _health("live", health.live, "Is the process alive?", ()),
    _health("ready", health.ready, "Can it keep what it is sent?", (503,)),
    _health("startup", health.startup, "Has the service started?", (503,)),
    Operation(
        method="GET",
        path="/metrics",
        handler=metrics_page.metrics,
        id="metrics",
        tag="health",
        summary="Read the numbers, as Prometheus does",
        text="For this machine alone; with a token set, for whoever sends it as a bearer.",
        answers={200: Given("The numbers.", media=("text/plain",))},
        problems=(401, 403),
        open=True,
    ),
)


PART = Parameter("name", "path", docs_page.PartName, "The part.", required=True)


def _page(path: str, handler: Handler, name: str, summary: str, *media: str) -> Operation:
    return Operation(
        method="GET",
        path=path,
        handler=handler,
        id=name,
        tag="document",
        summary=summary,
        parameters=(PART,) if "{" in path else (),
        answers={200: Given("The file.", media=media)},
        problems=(404,) if "{" in path else (),
        open=True,
    )


PAGES: tuple[Operation, ...] = (
    _page("/openapi.json", docs_page.openapi, "readDocument", "This document", "application/json"),
    _page("/docs", docs_page.page, "readDocs", "A page to try the interface", "text/html"),
    _page(
        "/docs/{name}",
        docs_page.asset,
        "readDocsPart",
        "A part of that page",
        "text/css",
        "text/javascript",
        "image/png",
    ),
)
