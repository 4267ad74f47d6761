"""Are the rows and statements that are checked in what the tables say?"""

from pathlib import Path

import pytest

from service.storage import generate


def test_what_is_checked_in_is_what_the_tables_say() -> None:
    for path, text in generate.generated().items():
        assert path.read_text(encoding="utf-8") == text, path.name


def test_a_stale_file_is_named_and_then_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(generate, "HERE", tmp_path)
    assert generate.main(["--check"]) == 1
    assert "rows.py: run" in capsys.readouterr().err
    assert generate.main([]) == 0
    assert generate.main(["--check"]) == 0
    assert {path.name for path in tmp_path.iterdir()} == {
        "rows.py",
        "statements_postgres.py",
        "statements_sqlite.py",
    }
