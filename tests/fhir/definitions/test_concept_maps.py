"""Do the maps name only listed standard codes, and never call them the same as ours?"""

from msgspec.structs import replace

from service.fhir.codes import LOINC, STANDARD
from service.fhir.definitions.concept_maps import NEAR, concept_maps
from service.fhir.site import site_of
from tests.fhir.answers import BASE, BOOK, SITE
from tests.fhir.code_checks import is_loinc, is_snomed
from tests.fhir.definitions.published import Json, of

MAPS = of("ConceptMap")
TARGETS: list[tuple[str, str, Json]] = [
    (group["target"], element["code"], target)
    for one in MAPS.values()
    for group in one["group"]
    for element in group["element"]
    for target in element["target"]
]


def test_every_standard_code_that_is_sent_is_mapped() -> None:
    sent = {(coding.system, coding.code) for codings in STANDARD.values() for coding in codings}
    mapped = {(system, target["code"]) for system, _, target in TARGETS}
    assert mapped == sent | {(LOINC, code) for code, _ in NEAR.values()}


def test_nothing_is_called_equal_and_usual_performance_only_near() -> None:
    near = {code for code, _ in NEAR.values()}
    for _, _, target in TARGETS:
        assert target["equivalence"] != "equal"
        if target["code"] in near:
            assert target["equivalence"] in ("inexact", "relatedto")
            assert "usually does" in target["comment"]
        if target["equivalence"] in ("inexact", "narrower"):
            assert target["comment"]


def test_every_code_has_the_check_digit_of_its_system() -> None:
    for system, _, target in TARGETS:
        check = is_loinc if system == LOINC else is_snomed
        assert check(target["code"])


def test_the_notices_of_the_owners_are_shipped() -> None:
    for name, one in MAPS.items():
        owner = "Regenstrief" if name.endswith("loinc") else "SNOMED International"
        assert owner in one["copyright"]


def test_a_map_leads_from_a_system_of_ours_that_is_published() -> None:
    systems = {one["url"]: one for one in of("CodeSystem").values()}
    for one in MAPS.values():
        (group,) = one["group"]
        known = {concept["code"] for concept in systems[group["source"]]["concept"]}
        assert {element["code"] for element in group["element"]} <= known
        assert one["sourceCanonical"] == systems[group["source"]]["valueSet"]


def test_a_system_that_is_not_spoken_here_is_not_mapped() -> None:
    only = concept_maps(site_of(BOOK, BASE, standard=frozenset({LOINC})))
    assert {group.target for one in only for group in one.group} == {LOINC}
    assert concept_maps(site_of(BOOK, BASE, standard=frozenset())) == []


def test_the_words_of_what_is_sent_do_not_come_from_here() -> None:
    site = replace(SITE, concepts={})
    concept_maps(site)
    assert site.concepts == {}
