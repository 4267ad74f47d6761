"""How is the record copied while it is served, and put back so that it answers the same?

A backup is one SQLite file and, beside it, a manifest: its digest, its rows, and the last seal of
each audit trail, which then is held elsewhere too.
"""

import hashlib
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import msgspec
from msgspec import Struct

from service import __version__
from service.application.ports import Clock
from service.storage import statements_sqlite as sql
from service.storage.commanded import audit_command
from service.storage.connection import hold_lock, reading, short_write
from service.storage.migrate import HEAD, migrate, version_of
from service.storage.place import Place, Server
from service.storage.rows import AuditSealRow, OrganisationRow
from service.storage.transfer import Filled, transfer
from service.storage.verify import HeldSeal, verify_audit

_WAIT_MS = 10_000
_CHUNK = 1 << 20
_TABLES = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"


class Manifest(Struct, frozen=True):
    """What stands beside a backup. ``sha256`` is of the whole file."""

    made_at: datetime
    release: str
    schema: str
    size_bytes: int
    sha256: str
    rows: dict[str, int]
    seals: tuple[HeldSeal, ...]


class BadBackup(Exception):
    """The file is not the backup that its manifest tells of; ``faults`` says why."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("; ".join(faults))
        self.faults = faults


def manifest_of(backup: Path) -> Path:
    return backup.with_name(backup.name + ".json")


def back_up(place: Place, clock: Clock, to: Path) -> Manifest:
    """One state of the record at ``place``, whole, at ``to``; told in the audit trail before.

    Raises FileNotFoundError, FileExistsError, BadBackup where the copy is not sound, OSError.
    """
    if to.exists() or manifest_of(to).exists():
        raise FileExistsError(f"{to} is there already: a backup overwrites nothing.")
    _tell(place, clock, "backup.make")
    unfinished = to.with_name(to.name + ".part")
    unfinished.unlink(missing_ok=True)
    try:
        _copy(place, unfinished)
        manifest = _described(unfinished, clock)
        faults = _unsound(unfinished)
        if faults:
            raise BadBackup(faults)
        _written(manifest_of(to), msgspec.json.format(msgspec.json.encode(manifest)))
        _moved(unfinished, to)
    except BaseException:
        unfinished.unlink(missing_ok=True)
        raise
    return manifest


def restore(backup: Path, clock: Clock, to: Place, *, replace: bool = False) -> Manifest:
    """Put the record of ``backup`` at ``to`` and bring it up to date, once all of it was checked.

    Raises FileNotFoundError, FileExistsError (without ``replace``), StoreInUse, BadBackup, OSError.
    """
    manifest = _checked(backup)
    if isinstance(to, Server):
        _put_on_a_server(backup, to, replace=replace)
        _tell(to, clock, "backup.restore")
        return manifest
    if to.exists() and not replace:
        raise FileExistsError(
            f"{to} is there already: say --replace to put the backup in its place."
        )
    with hold_lock(to):
        unfinished = to.with_name(to.name + ".part")
        unfinished.unlink(missing_ok=True)
        _copy(backup, unfinished)
        for beside in ("-wal", "-shm"):
            to.with_name(to.name + beside).unlink(missing_ok=True)
        _moved(unfinished, to)
        migrate(to)
        _tell(to, clock, "backup.restore")
    return manifest


def _put_on_a_server(backup: Path, to: Server, *, replace: bool) -> None:
    migrate(to)
    with TemporaryDirectory() as folder:
        current = Path(folder) / "current.db"
        _copy(backup, current)
        migrate(current)
        try:
            transfer(current, to, _quietly, replace=replace)
        except Filled:
            raise FileExistsError(
                f"There is a record at {to}: say --replace to put the backup in its place."
            ) from None


def _quietly(_table: str, _count: int) -> None:
    """Nobody waits for the progress of this copy."""


def _checked(backup: Path) -> Manifest:
    if not backup.is_file():
        raise FileNotFoundError(f"There is no backup at {backup}.")
    if not manifest_of(backup).is_file():
        raise FileNotFoundError(
            f"There is no manifest at {manifest_of(backup)}: it is made with the backup."
        )
    try:
        manifest = msgspec.json.decode(manifest_of(backup).read_bytes(), type=Manifest)
    except msgspec.MsgspecError as fault:
        raise BadBackup([f"The manifest cannot be read: {fault}"]) from None
    faults = []
    if manifest.schema > HEAD:
        faults.append(f"It was made by a later release (schema {manifest.schema}).")
    if _digest(backup) != manifest.sha256:
        faults.append("The file is not the one that the manifest tells of: its digest differs.")
    faults = faults or _unsound(backup, manifest.seals)
    if faults:
        raise BadBackup(faults)
    return manifest


def _copy(source: Place, target: Path) -> None:
    """In one step, so that nothing written meanwhile makes it begin again; readers and the
    writer go on."""
    os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
    if isinstance(source, Server):
        migrate(target)
        transfer(source, target, _quietly)
        with closing(sqlite3.connect(target)) as copy:
            copy.execute("PRAGMA journal_mode = DELETE").fetchone()
        return
    with closing(reading(source, _WAIT_MS)) as there, closing(sqlite3.connect(target)) as copy:
        there.backup(copy, pages=-1)
        # one file, not three: what reads it needs no log beside it
        copy.execute("PRAGMA journal_mode = DELETE").fetchone()


def _unsound(path: Path, held: tuple[HeldSeal, ...] = ()) -> list[str]:
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as copy:
            told = [row[0] for row in copy.execute("PRAGMA integrity_check")]
    except sqlite3.DatabaseError as error:
        return [f"The file is not a whole database: {error}"]
    faults = [f"The file is not a whole database: {said}" for said in told if said != "ok"]
    return faults or [f"{fault.kind}: {fault.text}" for fault in verify_audit(path, held).faults]


def _described(copy: Path, clock: Clock) -> Manifest:
    with closing(sqlite3.connect(copy)) as connection:
        names = [row[0] for row in connection.execute(_TABLES)]
        rows = {name: _count(connection, name) for name in sorted(names)}
        seals = tuple(_last_seals(connection))
    size = copy.stat().st_size
    schema = version_of(copy) or ""
    return Manifest(clock(), __version__, schema, size, _digest(copy), rows, seals)


def _count(connection: sqlite3.Connection, table: str) -> int:
    count: int = connection.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0]  # noqa: S608
    return count


def _last_seals(connection: sqlite3.Connection) -> Iterator[HeldSeal]:
    for found in connection.execute(sql.ORGANISATIONS).fetchall():
        org = OrganisationRow(*found).org
        last = connection.execute(sql.LAST_SEAL, {"org": org}).fetchone()
        if last is not None:
            row = AuditSealRow(*last)
            yield HeldSeal(row.org, row.n, row.digest.hex())


def _digest(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            digest.update(chunk)
    return digest.hexdigest()


def _tell(place: Place, clock: Clock, action: str) -> None:
    """A copy of the record leaves, or comes: every organisation's trail says so."""
    with short_write(place) as connection:
        for found in connection.execute(sql.ORGANISATIONS).fetchall():
            org = OrganisationRow(*found).org
            audit_command(connection, clock, org, action, "")


def _written(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        os.fchmod(file.fileno(), 0o600)
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _moved(unfinished: Path, to: Path) -> None:
    """The whole file or none, on disk before its name is."""
    with unfinished.open("rb") as file:
        os.fsync(file.fileno())
    unfinished.replace(to)
    folder = os.open(to.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
