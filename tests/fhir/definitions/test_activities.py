"""Can a person read each method from what is published of it?"""

from service.domain.axis import Axis
from service.domain.citation import Citation, Standing
from service.domain.move import Move
from service.domain.requirement import Need
from service.fhir.definitions.activities import needs, said
from service.rules.book import SaidRule
from tests.fhir.answers import BOOK, SITE
from tests.fhir.definitions.published import of

ACTIVITIES = of("ActivityDefinition")


def test_every_method_that_a_plan_points_to_is_there() -> None:
    for method in BOOK.methods:
        url, _, version = SITE.definition("ActivityDefinition", method).partition("|")
        one = ACTIVITIES[method.replace("_", "-")]
        assert (one["url"], one["version"]) == (url, version)
        assert one["code"]["coding"][0]["code"] == method


def test_steps_cautions_and_stop_signs_are_told_in_full() -> None:
    for name, method in BOOK.methods.items():
        one = ACTIVITIES[name.replace("_", "-")]
        for part in (method.steps, method.cautions, method.stop_signs):
            for rule in part:
                assert rule.text in one["usage"]
        assert method.plain in one["description"]


def test_brakes_are_said_with_the_step() -> None:
    told = ACTIVITIES["slide-sheet"]["usage"]
    assert "Put bed and stretcher side by side with no gap." in told
    assert "(brakes locked)" in told


def test_every_source_is_cited_once_and_no_order_is_made_of_it() -> None:
    for one in ACTIVITIES.values():
        labels = [source["label"] for source in one["relatedArtifact"]]
        assert labels and len(labels) == len(set(labels))
        assert set(labels) <= set(BOOK.sources)
        assert "kind" not in one


def test_where_nobody_is_moved_no_helpers_are_counted() -> None:
    assert "as the clinician directs" in ACTIVITIES["do-not-move"]["description"]
    assert "Helpers: at least 2" in ACTIVITIES["slide-sheet"]["description"]
    assert "trained in" in ACTIVITIES["slide-sheet"]["description"]


def test_needs_are_told_once() -> None:
    for method in BOOK.methods.values():
        told = needs(method)
        assert len(told) == len(set(told))


def test_a_sentence_says_on_which_moves_and_that_it_is_not_for_everybody() -> None:
    citation = Citation("common_practice", Standing.PRACTICE)
    rule = SaidRule("a.b", "Mind the step.", citation, None, frozenset())
    assert said(BOOK, rule) == "Mind the step."
    only = SaidRule("a.b", "Mind the step.", citation, None, frozenset({Move.WALK}))
    assert said(BOOK, only) == "Mind the step. Only: Walk."
    unless = Need("a.rise", Axis.RISE, "steadied", "Rises", citation)
    some = SaidRule("a.b", "Mind the step.", citation, unless, frozenset())
    assert said(BOOK, some) == "Mind the step. Not for every person."
