"""What of an Observation is promised, and what is never sent?"""

from service.fhir.definitions.observation_profiles import finding, panel, vital_sign
from tests.fhir.answers import SITE

PROMISES = {
    "panel": {one.id: one for one in panel(SITE)},
    "finding": {one.id: one for one in finding(SITE)},
    "vital-sign": {one.id: one for one in vital_sign(SITE)},
}
NEVER = ("Observation.value[x]", "Observation.dataAbsentReason", "Observation.component")


def test_a_panel_holds_members_and_has_no_value() -> None:
    told = PROMISES["panel"]
    assert told["Observation.hasMember"].min == 1
    assert [told[name].max for name in NEVER] == ["0", "0", "0"]


def test_whose_when_and_from_what_is_promised_of_all() -> None:
    for told in PROMISES.values():
        for name in ("subject", "subject.identifier", "effective[x]", "issued", "derivedFrom"):
            assert told[f"Observation.{name}"].min == 1
        (moment,) = told["Observation.effective[x]"].type
        assert moment.code == "dateTime"


def test_a_code_is_bound_to_the_set_of_its_kind() -> None:
    bound = {
        name: told["Observation.code"].binding and told["Observation.code"].binding.value_set
        for name, told in PROMISES.items()
    }
    assert bound == {
        "panel": f"{SITE.canonical}/ValueSet/finding",
        "finding": f"{SITE.canonical}/ValueSet/finding-codes",
        "vital-sign": f"{SITE.canonical}/ValueSet/vital-sign",
    }


def test_the_category_is_standard_where_there_is_one_for_all() -> None:
    assert "Observation.category:survey" in PROMISES["panel"]
    assert "Observation.category:vital-signs" in PROMISES["vital-sign"]
    assert not any("category:" in name for name in PROMISES["finding"])
