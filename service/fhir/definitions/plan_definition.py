"""How are the rules as a whole published: for each move, which methods there are to choose from?"""

from collections.abc import Iterable, Iterator

from service.domain.citation import Citation
from service.fhir.definitions.activities import needs, said
from service.fhir.definitions.heads import head
from service.fhir.definitions.plan_elements import Action, PlanDefinition, PlanGoal
from service.fhir.definitions.sources import cited, method_citations, move_citations
from service.fhir.narrative import bullets, safe
from service.fhir.notices import notice_of
from service.fhir.site import Site
from service.fhir.structs import CodeableConcept, Coding
from service.fhir.text import tidy
from service.rules.book import MoveRules, Option, RuleBook

PLAN = "safe_patient_handling"
_TITLE = "Safe patient handling"
_ABOUT = (
    "For every move the least supported method is chosen whose every need the person meets and"
    " whose means are there; not known never counts as able. Not moving the person is always open."
)
_USE = (
    "It supports trained staff and does not replace clinical judgement. Local policy and law, the"
    " device maker's instructions and licensed staff come first. It is for adults."
)
_PROTOCOL = CodeableConcept(
    (
        Coding(
            "http://terminology.hl7.org/CodeSystem/plan-definition-type",
            "clinical-protocol",
            "Clinical Protocol",
        ),
    )
)


def plan_definition(site: Site) -> PlanDefinition:
    """The rule book: one action a move, exactly one of whose methods is taken."""
    book = site.book
    moves = list(book.moves.values())
    actions = [_action(site, one) for one in moves]
    return PlanDefinition(
        **head(
            site, "PlanDefinition", PLAN, _TITLE, _ABOUT,
            f"<p>{safe(_USE)}</p>" + "".join([_story(book, one) for one in moves]),
        ),
        copyright=notice_of(*_systems(actions)),
        type=_PROTOCOL,
        usage=_USE,
        related_artifact=cited(book, _citations(book)),
        goal=tuple(
            [
                PlanGoal(description=site.concept("goal", goal.id, goal.text))
                for goal in book.goals
            ]
        ),
        action=tuple(actions),
    )  # fmt: skip


def _systems(actions: Iterable[Action]) -> Iterator[str]:
    """Of every code of the actions and of those inside them."""
    for action in actions:
        yield from [one.system for code in action.code for one in code.coding]
        yield from _systems(action.action)


def _citations(book: RuleBook) -> list[Citation]:
    moves = [one for move in book.moves.values() for one in move_citations(move)]
    methods = [one for method in book.methods.values() for one in method_citations(method)]
    goals = [goal.citation for goal in book.goals]
    return [*moves, *methods, *goals]


def _action(site: Site, move: MoveRules) -> Action:
    cautions = [said(site.book, one) for one in move.cautions]
    return Action(
        title=move.title,
        description=tidy(" ".join([f"{move.title}: {move.plain}.", *cautions])),
        code=(site.concept("move", move.move.value, move.title),),
        documentation=cited(site.book, move_citations(move)),
        grouping_behavior="logical-group",
        selection_behavior="exactly-one",
        action=tuple([_choice(site, option) for option in move.options]),
    )


def _choice(site: Site, option: Option) -> Action:
    method = option.method
    return Action(
        title=method.title,
        description=tidy(_asked(option)),
        code=(site.concept("method", method.id, method.title),),
        definition_canonical=site.definition("ActivityDefinition", method.id),
    )


def _asked(option: Option) -> str:
    why = list(dict.fromkeys([*[one.why for one in option.requires], *needs(option.method)]))
    if not why:
        return "Always open: nothing is asked of the person."
    return f"Taken only where: {'; '.join(why)}."


def _story(book: RuleBook, move: MoveRules) -> str:
    lines = [f"{option.method.title}. {_asked(option)}" for option in move.options]
    care = [said(book, one) for one in move.cautions]
    return (
        f"<h3>{safe(move.title)}</h3>"
        + bullets("Least supported first", lines, "ol")
        + bullets("Take care", care)
    )
