"""Whatever is bent in a response or a Bundle: is it read, or refused with its faults placed?"""

from copy import deepcopy
from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.problem import Fault, Refused
from service.domain.screen import Screen
from service.fhir.outcome import outcome_of
from service.fhir.read_bundle import entries_of
from service.fhir.read_people import dangling, people_in, urls_of
from service.fhir.read_response import draft_of, screen_of
from tests.fhir.answers import BASE, SITE
from tests.fhir.responses import Raw, bare, full
from tests.fhir.test_read_person import MARA

ANYTHING = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-5, 5)
    | st.sampled_from([Decimal("1.50"), Decimal("Infinity"), "", "completed", "urn:x", "none"])
    | st.text(max_size=3),
    lambda inner: (
        st.lists(inner, max_size=2)
        | st.dictionaries(
            st.sampled_from(["linkId", "item", "answer", "system", "value", "code", "extension"]),
            inner,
            max_size=3,
        )
    ),
    max_leaves=6,
)
FULL, BARE = full(), bare()
BUNDLE: Raw = {
    "resourceType": "Bundle",
    "type": "transaction",
    "entry": [
        {
            "fullUrl": "urn:uuid:8a1c1c1e-2a3b-4c4d-9e8f-000000000001",
            "resource": MARA,
            "request": {"method": "POST", "url": "Patient", "ifNoneExist": "identifier=a|b"},
        },
        {
            "resource": {**BARE, "subject": {"reference": "urn:uuid:1"}},
            "request": {"method": "PUT", "url": "QuestionnaireResponse/1", "ifMatch": 'W/"1"'},
        },
    ],
}


def paths(value: Any, above: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner: Any = ()
    if isinstance(value, dict):
        inner = value.items()
    elif isinstance(value, list):
        inner = enumerate(value)
    return [above, *[path for key, part in inner for path in paths(part, (*above, key))]]


@st.composite
def bent(draw: st.DrawFn, whole: Raw) -> Any:
    """``whole`` with one to three of its parts replaced or taken away."""
    raw: Any = deepcopy(whole)
    for _ in range(draw(st.integers(1, 3))):
        path = draw(st.sampled_from(paths(raw)))
        if not path:
            return draw(ANYTHING)
        inner = raw
        for part in path[:-1]:
            inner = inner[part]
        if draw(st.booleans()) and isinstance(inner, dict):
            del inner[path[-1]]
        else:
            inner[path[-1]] = draw(ANYTHING)
    return raw


def refusal(raw: Any) -> Refused | None:
    """Why ``raw`` holds no screen; None where it holds one. Nothing else may be raised."""
    try:
        assert isinstance(screen_of(draft_of(SITE, raw)), Screen)
    except Refused as problem:
        return problem
    return None


def faults_in_bundle(raw: Any) -> list[Fault]:
    """Every fault of a Bundle and its entries."""
    try:
        _, entries = entries_of(raw, BASE)
    except Refused as problem:
        return list(problem.faults)
    _, faults = people_in(entries)
    loose = [fault for one in entries for fault in dangling(one, urls_of(entries))]
    return [*faults, *loose, *[fault for one in entries for fault in one.faults]]


@settings(max_examples=60)
@given(raw=bent(FULL) | bent(BARE) | ANYTHING)
def test_any_response_is_read_or_refused_with_its_faults_in_place(raw: Any) -> None:
    problem = refusal(raw)
    if problem is not None:
        assert problem.faults
        assert all(fault.path.startswith("/QuestionnaireResponse") for fault in problem.faults)
        assert outcome_of(problem).issue


@settings(max_examples=60)
@given(raw=bent(BUNDLE) | ANYTHING)
def test_any_bundle_is_understood_or_refused_with_its_faults_in_place(raw: Any) -> None:
    assert all(fault.path.startswith("/Bundle") for fault in faults_in_bundle(raw))
