"""Do the findings of some hundred screens say in words what they hold, as the standard has them?"""

from typing import Any

import pytest

from service.fhir.bundle import bundle_of
from service.fhir.encode import bytes_of
from tests.fhir.answers import SITE
from tests.fhir.many_screens import answers, dealt, drawn
from tests.fhir.said import narrative_faults
from tests.fhir.validators import read
from tests.fhir.vital_profiles import vital_faults

MANY = 300
FEW = 50
# Counting the lines of so many answers triples the time and proves nothing.
pytestmark = pytest.mark.no_cover
Document = dict[str, Any]


@pytest.fixture(scope="module")
def bundles() -> list[bytes]:
    return [bytes_of(bundle_of(SITE, answer)) for answer in answers(dealt(drawn(), MANY))]


def observations(raw: bytes) -> list[Document]:
    return [
        entry["resource"]
        for entry in read(raw)["entry"]
        if entry["resource"]["resourceType"] == "Observation"
    ]


def test_every_finding_is_said_in_words_and_no_other_number_is(bundles: list[bytes]) -> None:
    told = [one for raw in bundles for one in observations(raw)]
    assert len(told) > MANY * 10
    found = {(one["id"], fault) for one in told for fault in narrative_faults(one)}
    assert sorted(found)[:5] == []


def test_every_vital_sign_is_as_the_standard_has_it(bundles: list[bytes]) -> None:
    told = [
        one
        for raw in bundles[:FEW]
        for one in observations(raw)
        if one["category"][0]["coding"][0]["code"] == "vital-signs"
    ]
    assert len(told) > FEW
    found = {(one["id"], fault) for one in told for fault in vital_faults(one)}
    assert sorted(found)[:5] == []


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        ({"valueInteger": 7}, "unsaid: 7"),
        ({"valueCodeableConcept": {"text": "Alone"}}, "unsaid: Alone"),
        ({"status": "entered-in-error"}, "unsaid: Entered in error"),
        ({"note": [{"text": "Left"}]}, "unsaid: Left"),
        ({"component": [{"code": {"text": "Right"}, "valueBoolean": True}]}, "unsaid: yes"),
        ({"text": {"div": "<div><p>Rise: Not able, 12 times</p></div>"}}, "not held: 12"),
    ],
)
def test_what_is_not_said_or_not_held_is_found(change: Document, fault: str) -> None:
    sound: Document = {
        "status": "final",
        "code": {"text": "Rise"},
        "effectiveDateTime": "2026-03-04T08:15:00+01:00",
        "valueCodeableConcept": {"text": "Not able"},
        "text": {"div": "<div><p>Rise: Not able</p></div>"},
    }
    assert narrative_faults(sound) == []
    assert fault in narrative_faults({**sound, **change})
