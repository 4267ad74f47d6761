"""Can no organisation's row be without its organisation?"""

from sqlmodel import SQLModel

import service.storage.tables  # noqa: F401 - fills the metadata


def test_every_row_says_which_organisation_it_belongs_to() -> None:
    tables = SQLModel.metadata.tables
    assert len(tables) == 11
    assert [name for name, table in tables.items() if "org" not in table.columns] == []
    assert not any(table.columns["org"].nullable for table in tables.values())


def test_documents_carry_the_number_of_their_schema() -> None:
    documents = {"patient", "plan", "screen"}
    numbered = {
        name for name, table in SQLModel.metadata.tables.items() if "schema_no" in table.columns
    }
    assert numbered == documents
