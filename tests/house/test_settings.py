"""Does the list of settings in the documents say what the service reads today?"""

import re
from pathlib import Path

import pytest

from service.commands.config_docs import PAGE, table, written
from service.settings import Settings
from service.settings_sources import PREFIX, known
from tests.house.tree import ROOT


def test_the_list_of_settings_is_current() -> None:
    text = (ROOT / PAGE).read_text(encoding="utf-8")
    assert text == written(text), "run: stanchion config docs"


def test_every_setting_says_what_it_is() -> None:
    assert [name for name, one in known(Settings).items() if len(one.text) < 10] == []


def test_a_setting_that_the_list_lacks_is_found() -> None:
    text = (ROOT / PAGE).read_text(encoding="utf-8")
    rows = [line for line in text.splitlines(keepends=True) if f"`{PREFIX}RATE`" not in line]
    assert written("".join(rows)) != "".join(rows)
    assert f"| `{PREFIX}RATE` | `1000/second` |" in table()
    with pytest.raises(ValueError, match="no place"):
        written("# Running it\n")


def test_no_setting_is_named_in_a_document_that_the_service_does_not_know() -> None:
    names = {f"{PREFIX}{name.upper()}" for name in known(Settings)} | {f"{PREFIX}CONFIG"}
    written_of = [*(ROOT / "docs").glob("*.md"), *(ROOT / "docker").rglob("*"), ROOT / "README.md"]
    for path in filter(Path.is_file, written_of):
        said = set(re.findall(rf"{PREFIX}[A-Z][A-Z_]*[A-Z]", path.read_text(encoding="utf-8")))
        unknown = said - names - {f"{PREFIX}POSTGRES_PASSWORD"}
        assert {one.removesuffix("_FILE") for one in unknown} <= names, path.name
