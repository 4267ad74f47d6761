"""Do addresses and codes follow what the deployment says of itself?"""

from service.fhir.codes import LOINC
from service.fhir.site import code_system, site_of
from tests.fhir.answers import BASE, BOOK, HOSTILE


def test_addresses_do_not_end_in_a_slash() -> None:
    site = site_of(BOOK, "https://a.example/fhir/", "https://b.example/")
    assert (site.base, site.canonical) == ("https://a.example/fhir", "https://b.example")


def test_the_canonical_address_is_in_every_system_and_definition() -> None:
    site = site_of(BOOK, BASE, "https://b.example")
    assert code_system("https://b.example", "stand_end") == "https://b.example/CodeSystem/stand-end"
    assert site.concept("axis", "arms", "Arms").coding[0].system == (
        "https://b.example/CodeSystem/axis"
    )
    assert site.extension("move") == "https://b.example/StructureDefinition/move"
    assert site.definition("ActivityDefinition", "stand_aid") == (
        f"https://b.example/ActivityDefinition/stand-aid|{BOOK.ref.version}"
    )
    assert site.identifier_system("plan") == "https://b.example/identifier/plan"


def test_a_concept_is_made_once() -> None:
    site = site_of(BOOK, BASE)
    assert site.concept("axis", "arms", "Arms") is site.concept("axis", "arms", "Arms")


def test_a_deployment_can_leave_a_standard_system_out() -> None:
    site = site_of(BOOK, BASE, standard=frozenset({LOINC}))
    assert len(site.concept("method", "sling_lift", "Sling lift").coding) == 1
    assert len(site.concept("test", "timed_up_and_go", "Timed up and go").coding) == 2


def test_the_words_of_a_concept_are_fit_to_be_sent() -> None:
    concept = site_of(BOOK, BASE).concept("axis", "arms", HOSTILE)
    assert concept.text is not None
    assert "\x00" not in concept.text
