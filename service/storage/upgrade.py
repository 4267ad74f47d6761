"""How are migration steps run on a database file, all of them or none?"""

from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, create_engine, event
from sqlalchemy.pool import NullPool

from service.storage.connection import writing

_BUSY_MS = 10_000
_HERE = Path(__file__).parent


def run(path: Path, to: str, stands_at: str | None) -> None:
    """Up or down to migration ``to``; ``base`` is the empty database."""
    engine = create_engine("sqlite://", creator=lambda: writing(path, _BUSY_MS), poolclass=NullPool)
    event.listen(engine, "begin", _begin)
    move = command.downgrade if to == "base" or (stands_at or "") > to else command.upgrade
    with engine.begin() as connection:
        move(config_of(connection), to)


def _begin(connection: Connection) -> None:
    """The driver is in autocommit mode, so the transaction round all steps is begun by hand."""
    connection.exec_driver_sql("BEGIN IMMEDIATE")


def config_of(connection: Connection) -> Config:
    config = Config(attributes={"connection": connection})
    for option, folder in (("script_location", "migrations"), ("version_locations", "versions")):
        config.set_main_option(option, str(_HERE / folder).replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    return config
