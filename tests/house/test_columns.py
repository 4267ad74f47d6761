"""Is a column found that two drivers would fill with different bytes?"""

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    DateTime,
    Enum,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    Uuid,
)
from sqlmodel import SQLModel

import service.storage.tables  # noqa: F401 - fills the metadata
from tests.house.columns import faults


def test_every_column_is_read_alike_by_every_driver() -> None:
    assert len(SQLModel.metadata.tables) >= 10
    assert faults(SQLModel.metadata) == []


def test_columns_of_other_types_are_found() -> None:
    kinds = [Text, BigInteger, Integer, LargeBinary, Boolean, DateTime, Enum, JSON, Uuid]
    metadata = MetaData()
    Table("t", metadata, *(Column(kind.__name__, kind()) for kind in kinds))
    assert [fault.partition(":")[0] for fault in faults(metadata)] == [
        "t.Boolean",
        "t.DateTime",
        "t.Enum",
        "t.JSON",
        "t.Uuid",
    ]
