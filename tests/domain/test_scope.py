"""Does a scope allow exactly what it says, and one that is not understood nothing?"""

import pytest

from service.domain.scope import EVERYTHING, checked, granted, may, told


def test_each_letter_allows_one_interaction_of_one_type() -> None:
    allowed = granted("system/CarePlan.rs")
    assert allowed == {"CarePlan.r", "CarePlan.s"}
    assert may(allowed, "CarePlan.r")
    assert not may(allowed, "CarePlan.u")
    assert not may(allowed, "Patient.r")


def test_a_star_is_every_type_and_no_other_interaction() -> None:
    allowed = granted("system/*.r")
    assert may(allowed, "Patient.r")
    assert not may(allowed, "Patient.s")
    assert all(may(granted(EVERYTHING), f"Flag.{letter}") for letter in "cruds")


@pytest.mark.parametrize(
    ("old", "new"),
    [("read", "rs"), ("write", "cud"), ("*", "cruds")],
)
def test_the_first_version_means_what_the_second_says(old: str, new: str) -> None:
    assert granted(f"system/Goal.{old}") == granted(f"system/Goal.{new}")


@pytest.mark.parametrize(
    "word",
    [
        "",
        "openid",
        "patient/CarePlan.r",
        "user/CarePlan.r",
        "system/CarePlan",
        "system/CarePlan.",
        "system/CarePlan.sr",
        "system/CarePlan.rr",
        "system/CarePlan.R",
        "system/careplan.r",
        "system/CarePlan.r?status=active",
        "system/*.readwrite",
        "SYSTEM/*.r",
        "system/*.r\n",
        "xsystem/*.r",
    ],
)
def test_what_is_not_understood_allows_nothing(word: str) -> None:
    assert granted(word.replace("\n", "\0")) == frozenset()


def test_scopes_add_up() -> None:
    assert granted("launch system/Goal.r  system/Flag.s") == {"Goal.r", "Flag.s"}


def test_a_text_without_end_is_not_taken_apart() -> None:
    assert granted("system/*.r " * 400) == frozenset()


def test_scopes_are_kept_as_one_text_each_once() -> None:
    said = checked(["system/Goal.r system/Flag.s", "system/Goal.r"])
    assert said == "system/Goal.r system/Flag.s"


@pytest.mark.parametrize("scopes", [[], [" "], ["system/Goal.r openid"], ["system/*.r", "x"]])
def test_a_key_is_never_made_with_a_scope_that_means_nothing(scopes: list[str]) -> None:
    with pytest.raises(ValueError, match="scope"):
        checked(scopes)


def test_a_list_without_end_is_refused() -> None:
    with pytest.raises(ValueError, match="at most"):
        checked([f"system/{letter}{other}.r" for letter in _letters() for other in _small()])


def _letters() -> list[str]:
    return [chr(code) for code in range(ord("A"), ord("Z") + 1)]


def _small() -> list[str]:
    return [letter.lower() * 12 for letter in _letters()]


def test_a_need_is_told_as_the_scope_to_ask_for() -> None:
    assert told("CarePlan.r") == "system/CarePlan.r"
    assert granted(told("CarePlan.r")) == {"CarePlan.r"}


def test_the_trail_is_allowed_by_its_name_alone() -> None:
    assert not may(granted(EVERYTHING), "AuditEvent.r")
    assert may(granted(EVERYTHING), "CarePlan.r")
    assert may(granted("system/AuditEvent.rs"), "AuditEvent.r")
    assert not may(granted("system/AuditEvent.r"), "AuditEvent.s")
