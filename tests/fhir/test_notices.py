"""Is everybody named whose codes are sent, and nobody else?"""

from pathlib import Path

from service.fhir.codes import LOINC, SNOMED, UCUM
from service.fhir.notices import LOINC_NOTICE, SNOMED_NOTICE, notice_of


def test_loinc_is_told_with_its_owner_its_price_and_where_its_license_is() -> None:
    for said in ("Regenstrief Institute", "no cost", "http://loinc.org/license", "copyright"):
        assert said in LOINC_NOTICE


def test_a_system_that_is_not_spoken_is_not_named() -> None:
    assert notice_of(LOINC, SNOMED) == f"{LOINC_NOTICE} {SNOMED_NOTICE}"
    assert notice_of(LOINC) == LOINC_NOTICE
    assert notice_of(SNOMED, UCUM) == SNOMED_NOTICE
    assert notice_of(UCUM) is None


def test_the_readme_says_the_same() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    assert LOINC_NOTICE in " ".join(readme.split())
