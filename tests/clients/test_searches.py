"""Does each search find what the standard's own expressions find, no more and no less?"""

from collections.abc import Iterator
from typing import Any, NamedTuple

import pytest

from service.fhir.search_parameters import DEFINITIONS, PARAMETERS
from tests.clients.driver import Document
from tests.clients.search_oracle import (
    PREFIXES,
    found_in,
    references_of,
    span_of,
    spans_of,
    tokens_of,
)
from tests.clients.ward import Ward

VALUES = 6
"""How many of the values that occur are asked for."""
# The standard's own finds a Provenance of the Patient itself; ours, of all that is the patient's.
WIDER = ("Provenance", "patient")
LISTED = [
    (kind, name, one.kind, DEFINITIONS + one.definition)
    for kind, names in PARAMETERS.items()
    for name, one in names.items()
    if (kind, name) != WIDER
]


class Asked(NamedTuple):
    """A value to search by, and the ids that are to be found."""

    value: str
    ids: set[str]


def of_kind(kind: str) -> list[Any]:
    wanted = [one for one in LISTED if one[2] == kind]
    return [pytest.param(*one[:2], one[3], id=f"{one[0]}.{one[1]}") for one in wanted]


@pytest.fixture(scope="module")
def everything(ward: Ward) -> dict[str, dict[str, Document]]:
    """By type and id, all that is told of Mara; of what is nobody's, all."""
    return {kind: listed(ward, kind, whose(ward, kind)) for kind in PARAMETERS}


def whose(ward: Ward, kind: str) -> dict[str, str]:
    return {"patient": ward.patient} if "patient" in PARAMETERS[kind] else {}


def listed(ward: Ward, kind: str, query: dict[str, str]) -> dict[str, Document]:
    """What a search finds, over all its pages, by id."""
    found = {}
    page = ward.get(kind, **query, _count="200")
    while True:
        for entry in page.get("entry", ()):
            if entry["search"]["mode"] == "match":
                found[entry["resource"]["id"]] = entry["resource"]
        url = next((one["url"] for one in page["link"] if one["relation"] == "next"), None)
        if url is None:
            return found
        page = ward.get(url.partition("/fhir/R4/")[2])


def check(ward: Ward, kind: str, name: str, all_asked: Iterator[Asked]) -> None:
    count = 0
    for asked in all_asked:
        query = (
            {name: asked.value} if name == "patient" else whose(ward, kind) | {name: asked.value}
        )
        assert set(listed(ward, kind, query)) == asked.ids, f"{kind}?{query}"
        count += 1
    assert count > 1


@pytest.mark.parametrize(("kind", "name", "definition"), of_kind("token"))
def test_by_token(
    ward: Ward, everything: dict[str, dict[str, Document]], kind: str, name: str, definition: str
) -> None:
    told = {
        one_id: tokens_of(found_in(one, definition)) for one_id, one in everything[kind].items()
    }

    def holding(*tokens: tuple[str | None, str]) -> set[str]:
        return {one_id for one_id, has in told.items() if has & set(tokens)}

    def asked() -> Iterator[Asked]:
        known = sorted({token for has in told.values() for token in has}, key=str)
        for system, code in known[:: max(1, len(known) // VALUES)]:
            same = [token for token in known if token[1] == code]
            yield Asked(code, holding(*same))
            if system is not None:
                yield Asked(f"{system}|{code}", holding((system, code)))
        if (kind, name) != ("Patient", "identifier"):
            yield Asked(f"{known[0][1]},{known[-1][1]}", holding(*[
                token for token in known if token[1] in (known[0][1], known[-1][1])]))  # fmt: skip
        yield Asked("none-of-them", set())

    check(ward, kind, name, asked())


@pytest.mark.parametrize(("kind", "name", "definition"), of_kind("date"))
def test_by_date(
    ward: Ward, everything: dict[str, dict[str, Document]], kind: str, name: str, definition: str
) -> None:
    told = {one["id"]: spans_of(found_in(one, definition)) for one in everything[kind].values()}

    def asked() -> Iterator[Asked]:
        moments = sorted({span.low for spans in told.values() for span in spans})
        for moment in moments[:: max(1, len(moments) // VALUES)]:
            exactly = moment.isoformat(timespec="microseconds" if moment.microsecond else "seconds")
            for text in (f"{moment.year}", f"{moment.date()}", exactly):
                for prefix, holds in PREFIXES.items():
                    yield Asked(prefix + text, {
                        one_id for one_id, spans in told.items()
                        if any(holds(span_of(text), span) for span in spans)})  # fmt: skip

    check(ward, kind, name, asked())


@pytest.mark.parametrize(("kind", "name", "definition"), of_kind("reference"))
def test_by_reference(
    ward: Ward, everything: dict[str, dict[str, Document]], kind: str, name: str, definition: str
) -> None:
    told = {
        one_id: references_of(found_in(one, definition)) for one_id, one in everything[kind].items()
    }

    def asked() -> Iterator[Asked]:
        known = sorted({reference for has in told.values() for reference in has})
        assert known
        for reference in known[:: max(1, len(known) // VALUES)]:
            found = {one_id for one_id, has in told.items() if reference in has}
            yield Asked(reference, found)
            yield Asked(f"{ward.place.base}/{reference}", found)
        yield Asked(f"{known[0].partition('/')[0]}/none", set())

    check(ward, kind, name, asked())


def test_the_provenance_of_a_patient_is_that_of_all_that_is_the_patients(
    ward: Ward, everything: dict[str, dict[str, Document]]
) -> None:
    targets = {f"{kind}/{one}" for kind, found in everything.items() for one in found}
    found = everything["Provenance"].values()

    assert len(found) == len(ward.mara)
    for one in found:
        told = references_of(one["target"])
        assert told
        assert told <= targets
