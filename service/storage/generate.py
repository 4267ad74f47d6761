"""How do the tables become the rows and statements that the serving path imports?

``python -m service.storage.generate`` writes them; with ``--check`` it only says whether
they are up to date.
"""

import re
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path
from typing import Any

from sqlalchemy import BigInteger, Integer, LargeBinary, Text
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.sql.dml import Insert
from sqlmodel import SQLModel

from service.storage import queries

HERE = Path(__file__).parent
_PYTHON = {Text: "str", BigInteger: "int", Integer: "int", LargeBinary: "bytes"}
_MADE = "Written by service.storage.generate from the tables; change those, not this file."


def _rows() -> str:
    parts = [f'"""What does one row of each table hold?\n\n{_MADE}\n"""\n', _IMPORT_ROW]
    for name in sorted(SQLModel.metadata.tables):
        table = SQLModel.metadata.tables[name]
        parts.append(f"\n\nclass {queries.CLASSES[name]}Row(NamedTuple):")
        for column in table.columns:
            optional = " | None" if column.nullable else ""
            parts.append(f"\n    {column.name}: {_PYTHON[type(column.type)]}{optional}")
        parts.append("\n")
    return "".join(parts)


_IMPORT_ROW = "\nfrom typing import NamedTuple\n"


def _compiled(statement: Any) -> str:
    """SQL text; an insert takes a row by position, everything else named parameters."""
    style = "qmark" if isinstance(statement, Insert) else "named"
    text = _one_line(statement, sqlite.dialect(paramstyle=style))
    return text.replace(" OFFSET :param_1", "")  # the dialect adds an offset of 0 to every limit


def _compiled_postgres(statement: Any) -> str:
    style = "format" if isinstance(statement, Insert) else "pyformat"
    dialect: Any = postgresql.dialect
    text = _one_line(statement, dialect(paramstyle=style))
    # a column carries its type and its order; what is compared with it takes them over
    return re.sub(r'::\w+| COLLATE "C"', "", text)


def _one_line(statement: Any, dialect: Any) -> str:
    return re.sub(r"\s+", " ", str(statement.compile(dialect=dialect))).strip()


def _statements(store: str, insert: queries.Insert, compiled: Callable[[Any], str]) -> str:
    named = queries.writes(insert) | queries.reads()
    parts = [f'"""Which SQL does the serving path run on {store}?\n\n{_MADE}\n"""\n']
    for name in sorted(named):
        text = textwrap.fill(compiled(named[name]), 96, break_long_words=False)
        parts.append(f'\n{name.upper()} = """\\\n{text}"""\n')
    return "".join(parts)


def generated() -> dict[Path, str]:
    """Each file the tables decide, with its whole text."""
    return {
        HERE / "rows.py": _rows(),
        HERE / "statements_sqlite.py": _statements("SQLite", sqlite.insert, _compiled),
        HERE / "statements_postgres.py": _statements(
            "PostgreSQL", postgresql.insert, _compiled_postgres
        ),
    }


def main(arguments: list[str]) -> int:
    stale = [path for path, text in generated().items() if _text_of(path) != text]
    if "--check" in arguments:
        for path in stale:
            sys.stderr.write(f"{path.name}: run python -m service.storage.generate\n")
        return 1 if stale else 0
    for path in stale:
        path.write_text(generated()[path], encoding="utf-8")
    return 0


def _text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8") if path.exists() else ""


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
