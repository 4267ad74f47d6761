"""Is the FHIR of every sample fit to be shown to a stranger?"""

from pathlib import Path

import pytest

from tests.fhir.own_checks import bundle_faults
from tests.fhir.validators import (
    form_faults,
    official_faults,
    parse_faults,
    read,
    without_decimals,
)

SAMPLES = sorted(Path(__file__).parents[2].glob("samples/*/answer.fhir.json"))


def test_there_are_samples() -> None:
    assert len(SAMPLES) >= 8


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.parent.name)
def test_a_sample_has_no_fault_that_anybody_can_find(sample: Path) -> None:
    raw = sample.read_bytes()
    assert bundle_faults(read(raw)) == []
    assert form_faults(raw) == []
    assert parse_faults(raw) == []
    resources = [entry["resource"] for entry in without_decimals(raw)["entry"]]
    assert [fault for one in resources for fault in official_faults(one)] == []
