"""Do the tables hold only what every driver reads and writes alike?"""

from sqlalchemy import BigInteger, Integer, LargeBinary, MetaData, String, Text

# A driver and the ORM write different bytes for Uuid, DateTime, JSON, Enum and Boolean.
ALLOWED: tuple[type, ...] = (Text, String, BigInteger, Integer, LargeBinary)


def faults(metadata: MetaData) -> list[str]:
    """Every column of another type."""
    return [
        f"{table.name}.{column.name}: {column.type!r} is not TEXT, BIGINT, INTEGER or BLOB"
        for table in metadata.sorted_tables
        for column in table.columns
        if type(column.type) not in ALLOWED and type(column.type).__name__ != "AutoString"
    ]
