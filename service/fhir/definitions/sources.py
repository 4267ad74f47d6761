"""On which sources does a rule rest, told as citations?"""

from collections.abc import Iterable, Iterator

from service.domain.citation import Citation, Source
from service.fhir.definitions.plan_elements import RelatedArtifact
from service.fhir.text import tidy
from service.rules.book import Method, MoveRules, RuleBook


def cited(book: RuleBook, citations: Iterable[Citation]) -> tuple[RelatedArtifact, ...]:
    """Each source once, in the order in which it is first cited."""
    named = dict.fromkeys([one.source for one in citations])
    return tuple([_artifact(book.sources[name]) for name in named])


def method_citations(method: Method) -> Iterator[Citation]:
    """Of everything that is ruled about a method."""
    yield method.citation
    yield method.helpers_citation
    for part in (
        method.requires,
        method.more_helpers,
        method.accessories,
        method.steps,
        method.cautions,
        method.stop_signs,
    ):
        for one in part:
            yield one.citation


def move_citations(move: MoveRules) -> Iterator[Citation]:
    """Of everything that is ruled about a move, whatever the method."""
    yield move.citation
    for caution in move.cautions:
        yield caution.citation
    for option in move.options:
        for one in (*option.requires, *option.more_helpers):
            yield one.citation


def _artifact(source: Source) -> RelatedArtifact:
    year = None if source.year is None else str(source.year)
    told = [source.body, source.title, source.edition, year]
    return RelatedArtifact(
        type="citation",
        label=source.id,
        display=tidy(source.title),
        citation=tidy(". ".join([part for part in told if part])),
    )
