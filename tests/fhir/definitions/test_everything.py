"""Is all of it there, made once, and does nothing point to what is not?"""

from collections.abc import Iterator
from typing import Any

from service.fhir.definitions.everything import KEPT, all_definitions
from service.fhir.site import site_of
from tests.fhir.answers import BASE, BOOK, SITE
from tests.fhir.definitions.published import PLAIN, Json

KINDS = {
    "Questionnaire", "StructureDefinition", "CodeSystem", "ValueSet", "ConceptMap",
    "PlanDefinition", "ActivityDefinition", "OperationDefinition", "SearchParameter",
}  # fmt: skip
URLS = {one["url"] for one in PLAIN.values()}


def canonicals(value: Any) -> Iterator[str]:
    """Every address below our own canonical, but those in running text, of code systems, and of
    identifiers, for which R4 has no definition without a date: test_examples.py."""
    if isinstance(value, dict):
        for name, inner in value.items():
            told = isinstance(inner, str) and inner.startswith(SITE.identifier_system(""))
            if name not in ("div", "expression", "definition", "system") and not told:
                yield from canonicals(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from canonicals(inner)
    elif isinstance(value, str) and value.startswith(f"{SITE.canonical}/"):
        yield value


def test_every_kind_of_definition_is_there() -> None:
    assert {place.partition("/")[0] for place in PLAIN} == KINDS


def test_they_are_made_once_for_a_site() -> None:
    assert all_definitions(SITE) is all_definitions(SITE)
    other = site_of(BOOK, BASE, "https://b.example")
    assert all_definitions(other)[0].url.startswith("https://b.example/")
    assert all_definitions(SITE)[0].url.startswith(SITE.canonical)


def test_no_more_sites_are_kept_than_are_of_use() -> None:
    first = site_of(BOOK, BASE)
    made = all_definitions(first)
    for _ in range(KEPT):
        all_definitions(site_of(BOOK, BASE))
    assert all_definitions(first) is not made
    assert all_definitions(first) == made


def test_nothing_points_to_what_is_not_published() -> None:
    for place, one in PLAIN.items():
        for named in canonicals(one):
            url, _, version = named.partition("|")
            assert url in URLS or url == SITE.canonical, f"{place}: {named}"
            assert version in ("", BOOK.ref.version)


def test_an_address_that_leads_nowhere_would_be_seen() -> None:
    broken: Json = {"binding": {"valueSet": f"{SITE.canonical}/ValueSet/none"}}
    assert [named for named in canonicals(broken) if named not in URLS]
