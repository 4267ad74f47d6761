"""Does a row have the columns of its table, in their order?"""

from sqlmodel import SQLModel

from service.storage import queries, rows


def test_each_row_has_the_columns_of_its_table_in_their_order() -> None:
    for name, table in SQLModel.metadata.tables.items():
        row = getattr(rows, f"{queries.CLASSES[name]}Row")
        assert list(row._fields) == [column.name for column in table.columns]
