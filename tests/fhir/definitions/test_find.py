"""Are definitions found by their address, version, name, title and status?"""

import pytest

from service.fhir.definitions.find import PARAMETERS, Wanted, definition, matching
from tests.fhir.answers import BOOK, SITE

URL = f"{SITE.canonical}/ValueSet/method"
VERSION = BOOK.ref.version


def found(*wanted: tuple[str, str]) -> list[str | None]:
    asked = [Wanted(name, tuple(value.split(","))) for name, value in wanted]
    return [one.id for one in matching(SITE, "ValueSet", asked)]


@pytest.mark.parametrize(
    "wanted",
    [
        [("_id", "method")],
        [("url", URL)],
        [("url", f"{URL}|{VERSION}")],
        [("url", URL), ("version", VERSION), ("status", "active")],
        [("name", "method")],
        [("title", "Methods of mov")],
        [("_id", "method,unheard-of")],
    ],
)
def test_one_value_set_is_found_by(wanted: list[tuple[str, str]]) -> None:
    assert found(*wanted) == ["method"]


@pytest.mark.parametrize(
    "wanted",
    [
        [("url", f"{URL}|0.0.0")],
        [("url", URL), ("_id", "move")],
        [("version", "0.0.0")],
        [("name", "ethod")],
        [("status", "draft")],
    ],
)
def test_nothing_is_found_by(wanted: list[tuple[str, str]]) -> None:
    assert found(*wanted) == []


def test_without_a_wish_all_of_the_type_are_found_in_one_order() -> None:
    assert len(found()) > 40
    assert found() == found()
    assert set(found(("_id", "move,method"))) == {"move", "method"}


def test_one_is_read_by_type_and_id_only() -> None:
    one = definition(SITE, "CodeSystem", "method")
    assert one is not None
    assert one.url == f"{SITE.canonical}/CodeSystem/method"
    assert definition(SITE, "CodeSystem", "unheard-of") is None
    assert definition(SITE, "Patient", "method") is None


def test_every_parameter_is_looked_at() -> None:
    for name in PARAMETERS:
        assert found((name, "\x00")) == []
