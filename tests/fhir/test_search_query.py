"""Is it read what a search asks for, and told by name what it cannot ask for?"""

from datetime import UTC, datetime
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.problem import Unreadable
from service.fhir.codes import EXAM, SURVEY
from service.fhir.resources import Observation
from service.fhir.search_query import Query, Used, Whose, read_query
from service.fhir.search_tokens import Token
from service.fhir.structs import CodeableConcept, Coding, Meta, Reference

BASE = "https://host.example/fhir/R4"
NOW = datetime(2026, 3, 5, tzinfo=UTC)
SEEN = Observation(
    id="s-1-stage-rise",
    meta=Meta(version_id="1", last_updated=datetime(2026, 3, 4, 9, tzinfo=UTC)),
    identifier=(),
    status="final",
    category=(SURVEY,),
    code=CodeableConcept((Coding("urn:own", "rise"),)),
    subject=Reference(reference="Patient/p-1"),
    effective_date_time=datetime(2026, 3, 4, 8, 15, tzinfo=UTC),
    issued=datetime(2026, 3, 4, 9, tzinfo=UTC),
)


def read(*said: tuple[str, str], kind: str = "Observation", strict: bool = False) -> Query:
    return read_query(kind, said, BASE, UTC, strict=strict)


def faults(*said: tuple[str, str], **more: Any) -> list[tuple[str, str]]:
    with pytest.raises(Unreadable) as refused:
        read(*said, **more)
    return [(fault.path, fault.rule) for fault in refused.value.faults]


@pytest.mark.parametrize(
    ("said", "holds"),
    [
        ([("code", "rise")], True),
        ([("code", "urn:own|rise"), ("category", "survey")], True),
        ([("code", "sit,rise")], True),
        ([("code", "rise"), ("code", "sit")], False),
        ([("code:not", "rise")], False),
        ([("code:not", "sit,lie")], True),
        ([("category", "exam")], False),
        ([("status", "http://hl7.org/fhir/observation-status|final")], True),
        ([("date", "2026-03-04")], True),
        ([("date", "ge2026-03-04"), ("date", "lt2026-03-05")], True),
        ([("date", "2026-03-03,2026-03-04")], True),
        ([("date", "gt2026-03-04")], False),
        ([("_lastUpdated", "gt2026-03-04T08:30:00Z")], True),
        ([("_lastUpdated", "lt2026-03-04T08:30:00Z")], False),
    ],
)
def test_a_comma_is_or_and_a_repeated_parameter_is_and(
    said: list[tuple[str, str]], *, holds: bool
) -> None:
    assert read(*said).holds(SEEN, NOW) is holds


def test_one_of_several_codes_is_enough() -> None:
    assert read(("category", "survey")).holds(replace(SEEN, category=(EXAM, SURVEY)), NOW)


@pytest.mark.parametrize(
    ("name", "value", "whose"),
    [
        ("patient", "p-1", Whose(ids=("p-1",))),
        ("patient", f"Patient/p-1,{BASE}/Patient/p-2", Whose(ids=("p-1", "p-2"))),
        ("patient:Patient", "p-1", Whose(ids=("p-1",))),
        ("subject", "Group/g-1", Whose()),
        ("patient.identifier", "urn:a|H-1", Whose(identifiers=(Token("urn:a", "H-1"),))),
        ("patient:identifier", "H-1", Whose(identifiers=(Token(None, "H-1"),))),
        ("subject:Patient.identifier", "|H-1", Whose(identifiers=(Token("", "H-1"),))),
    ],
)
def test_a_patient_is_named_in_each_way_and_its_value_never_repeated(
    name: str, value: str, whose: Whose
) -> None:
    query = read((name, value))
    assert query.whose == (whose,)
    assert query.used == (Used(name.partition(":")[0].partition(".")[0], "", 0),)


def test_a_person_is_found_by_identifier_and_repeated_by_id() -> None:
    query = read(("identifier", "urn:a|H-1"), kind="Patient")
    assert query.whose == (Whose(identifiers=(Token("urn:a", "H-1"),)),)
    assert query.used == (Used("_id", "", 0),)
    assert faults(("identifier", "urn:a|"), kind="Patient") == [
        ("/http/identifier", "search.value")
    ]


def test_ids_that_are_asked_for_twice_are_those_in_both() -> None:
    assert read(("_id", "a,b"), ("_id", "b,c")).ids == ("b",)
    assert read(("_id", "a"), ("_id", "b")).ids == ()
    assert read().ids is None


def test_the_target_of_a_provenance_has_its_type_and_may_have_a_version() -> None:
    said = ("target", f"CarePlan/c-1,{BASE}/Observation/o-1/_history/2")
    query = read(said, kind="Provenance")
    assert query.targets == ((("CarePlan", "c-1"), ("Observation", "o-1")),)
    assert faults(("target", "c-1"), kind="Provenance") == [("/http/target", "search.value")]


def test_every_fault_is_told_with_the_name_of_its_parameter() -> None:
    found = faults(
        ("patient", ""), ("date", "soon"), ("code:in", "x"), ("status", "|"), ("_count", "x"),
        ("patient.name", "x"), ("_id", "a b"), ("code", ",".join("a" * 101)),
    )  # fmt: skip
    assert found == [
        ("/http/patient", "search.value"),
        ("/http/date", "search.value"),
        ("/http/code:in", "search.unknown"),
        ("/http/status", "search.value"),
        ("/http/patient.name", "search.unknown"),
        ("/http/_id", "search.value"),
        ("/http/code", "search.value"),
        ("/http/_count", "search.value"),
    ]


def test_what_is_not_known_is_left_out_and_told_or_refused_when_strict() -> None:
    said = (("encounter", "e-1"), ("code", "rise"), ("_format", "json"))
    query = read(*said)
    assert query.ignored == ("encounter",)
    assert query.used == (Used("code", "rise"),)
    assert faults(*said, strict=True) == [("/http/encounter", "search.unknown")]


def test_a_name_that_may_be_a_value_is_not_repeated() -> None:
    assert read(("H-1007", "x")).ignored == ("parameter",)
    with pytest.raises(Unreadable) as refused:
        read(("urn:oid:2.999|H-1007", ""))
    assert "H-1007" not in repr(refused.value.faults)


def test_a_query_with_a_name_is_refused_however_lenient() -> None:
    assert faults(("_query", "current")) == [("/http/_query", "search.unknown")]


def test_what_is_brought_along_may_be_asked_for_again_and_again() -> None:
    found = read(("_include:iterate", "Observation:patient"), ("_include", "Observation:subject"))
    assert found.control.includes == ("Observation:patient", "Observation:subject")
    assert found.ignored == ()
    back = read(("_revinclude:iterate", "Provenance:target"), strict=True)
    assert back.control.rev_includes == ("Provenance:target",)
    assert faults(("_include:recurse", "Observation:patient"), strict=True) == [
        ("/http/_include:recurse", "search.unknown")
    ]
