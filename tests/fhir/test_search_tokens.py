"""Are the forms of tokens and references read as the standard has them?"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.fhir.codes import SURVEY
from service.fhir.search_tokens import (
    Token,
    alternatives,
    codes_of,
    is_id,
    plain,
    read_reference,
    read_token,
    status_codes,
)

BASE = "https://host.example/fhir/R4"
SYSTEM = "http://terminology.hl7.org/CodeSystem/observation-category"


@pytest.mark.parametrize(
    ("text", "token"),
    [
        ("survey", Token(None, "survey")),
        ("|survey", Token("", "survey")),
        (f"{SYSTEM}|", Token(SYSTEM, None)),
        (f"{SYSTEM}|survey", Token(SYSTEM, "survey")),
        (r"a\|b|c\,d", Token("a|b", "c,d")),
        (r"a\\|b", Token("a\\", "b")),
        (r"\$x", Token(None, "$x")),
    ],
)
def test_each_form_of_a_token_is_read(text: str, token: Token) -> None:
    assert read_token(text) == token


@pytest.mark.parametrize("text", ["", "|", "a|b|c"])
def test_what_asks_for_nothing_or_for_too_much_is_no_token(text: str) -> None:
    with pytest.raises(ValueError, match="system"):
        read_token(text)


@pytest.mark.parametrize(
    ("text", "matches"),
    [
        ("survey", True),
        (f"{SYSTEM}|survey", True),
        (f"{SYSTEM}|", True),
        ("|survey", False),
        ("urn:other|survey", False),
        ("Survey", False),
        ("exam", False),
    ],
)
def test_a_token_matches_the_codes_it_names(text: str, *, matches: bool) -> None:
    assert read_token(text).matches(codes_of((SURVEY,))) is matches


@pytest.mark.parametrize(
    ("text", "matches"),
    [("final", True), ("|final", True), ("urn:s|final", True), ("urn:t|final", False)],
)
def test_a_status_may_be_asked_for_with_its_system_and_without(text: str, *, matches: bool) -> None:
    assert read_token(text).matches(status_codes("urn:s", "final")) is matches


@given(st.lists(st.text(max_size=6), min_size=1, max_size=5))
def test_values_that_are_escaped_come_back_as_they_were(values: list[str]) -> None:
    def escaped(text: str) -> str:
        for sign in ("\\", ",", "|", "$"):
            text = text.replace(sign, f"\\{sign}")
        return text

    written = ",".join(map(escaped, values))
    assert [plain(part) for part in alternatives(written)] == values


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("p-1", "p-1"),
        ("Patient/p-1", "p-1"),
        (f"{BASE}/Patient/p-1", "p-1"),
        ("Group/p-1", None),
        ("https://elsewhere.example/fhir/Patient/p-1", None),
        ("urn:uuid:0c9b3b8e-0000-7000-8000-000000000001", None),
        ("#p", None),
    ],
)
def test_a_reference_names_our_own_resource_or_another_one(text: str, found: str | None) -> None:
    assert read_reference(text, "Patient", BASE) == found


@pytest.mark.parametrize("text", ["", "Patient/", "a b", "patient/1", "Patient/1/_history/2"])
def test_what_is_no_reference_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="reference"):
        read_reference(text, "Patient", BASE)


def test_an_id_has_at_most_64_plain_characters() -> None:
    assert is_id("a" * 64)
    assert not any(map(is_id, ("", "a" * 65, "a_b", "a/b", "é")))
