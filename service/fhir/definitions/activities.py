"""How is each method published, so that a person can read it and a plan can point to it?"""

from service.fhir.definitions.heads import head
from service.fhir.definitions.plan_elements import ActivityDefinition
from service.fhir.definitions.sources import cited, method_citations
from service.fhir.narrative import bullets
from service.fhir.notices import notice_of
from service.fhir.site import Site
from service.fhir.text import tidy, words
from service.rules.book import Method, RuleBook, SaidRule, StepRule

_BRAKES = {"locked": " (brakes locked)", "released": " (brakes released)", "not_applicable": ""}


def activities(site: Site) -> list[ActivityDefinition]:
    """One a method."""
    return [_activity(site, method) for method in site.book.methods.values()]


def _activity(site: Site, method: Method) -> ActivityDefinition:
    book = site.book
    sources = cited(book, method_citations(method))
    parts = {
        "Needs": needs(method),
        "Steps": [_step(book, one) for one in method.steps],
        "Take care": [said(book, one) for one in method.cautions],
        "Stop at once": [said(book, one) for one in method.stop_signs],
    }
    story = "".join([bullets(name, lines) for name, lines in parts.items()])
    story += bullets("Rests on", [one.citation for one in sources])
    code = site.concept("method", method.id, method.title)
    told = f"{method.plain} Equipment: {_device(book, method)}. {_helpers(method)}"
    return ActivityDefinition(
        **head(site, "ActivityDefinition", method.id, method.title, tidy(told), story),
        usage="\n\n".join([_section(name, lines) for name, lines in parts.items() if lines]),
        related_artifact=sources,
        copyright=notice_of(*[one.system for one in code.coding]),
        code=code,
    )


def needs(method: Method) -> list[str]:
    """What the person must bring, in the words of the rules, each once."""
    return list(dict.fromkeys([one.why for one in method.requires]))


def _section(name: str, lines: list[str]) -> str:
    return f"{name}:\n\n" + "\n".join([f"- {tidy(line)}" for line in lines])


def _device(book: RuleBook, method: Method) -> str:
    named = method.device_class
    return "none" if named is None else book.device_classes[named].title


def _helpers(method: Method) -> str:
    if method.helpers is None:
        return "Helpers: as the clinician directs."
    trained = ", ".join([words(one) for one in method.training])
    more = "at least " if method.more_helpers else ""
    count = f"Helpers: {more}{method.helpers}"
    return f"{count}, trained in {trained}." if trained else f"{count}."


def _step(book: RuleBook, one: StepRule) -> str:
    return f"{one.text}{_BRAKES[one.brakes.value]}{_moves(book, one)}"


def said(book: RuleBook, one: SaidRule) -> str:
    return f"{one.text}{_moves(book, one)}"


def _moves(book: RuleBook, one: StepRule | SaidRule) -> str:
    """Only on these moves, and perhaps only for some persons."""
    titles = [rules.title for move, rules in book.moves.items() if move in one.moves]
    only = f" Only: {', '.join(titles)}." if titles else ""
    return only if one.unless is None else f"{only} Not for every person."
