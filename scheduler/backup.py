"""Backups: a consistent copy of a database in use, as one SQLite file, and putting one back.

An SQLite database is copied page by page. A PostgreSQL database is read in one snapshot, row by row,
into an SQLite file with the same tables: no program of the server's is needed, and a copy of either
database can be put into the other.
"""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import Connection, Table, delete, func, insert, select, text

from scheduler import membership, schema
from scheduler.database import Database
from scheduler.errors import DatabaseDamaged, DatabaseNewer, StoreError
from scheduler.sole import Sole
from scheduler.sqlitefile import copy, damage
from scheduler.tables import lanes, metadata, reminders, workers

#: Rows carried at a time.
ROWS = 1_000


def back_up(url: str, target: Path) -> None:
    """Copy the database at ``url`` to the file ``target``, while it is in use.

    ``target`` appears only when it is whole. Raises StoreError where it is there already.
    """
    if target.exists():
        raise StoreError(f"{target} is there already: name another file")
    with _opened(url) as database:
        if database.path is not None:
            copy(database.path, target)
            return
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=target.name) as folder:
            half = Path(folder) / "half.db"
            _read_out(database, half)
            copy(half, target)


def _read_out(database: Database, half: Path) -> None:
    with _opened(f"sqlite:///{half}") as into:
        into.write_now(schema.upgrade)
        one_moment = database.engine.connect().execution_options(isolation_level="REPEATABLE READ")
        with one_moment as there, into.engine.begin() as here:
            _carry(there, here)


def check(source: Path) -> None:
    """Make sure that a backup can be put back.

    Raises DatabaseDamaged where it is not whole, DatabaseNewer where this program is too old for it.
    """
    if not source.is_file():
        raise StoreError(f"there is no file {source}")
    if wrong := damage(source, thorough=True):
        raise DatabaseDamaged(f"the backup {source} is damaged ({wrong})")
    with closing(sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True)) as connection:
        try:
            (found,) = connection.execute("SELECT version_num FROM alembic_version").fetchone()
        except (sqlite3.Error, TypeError):
            raise DatabaseDamaged(f"{source} is no backup of this program") from None
        if found not in schema.REVISIONS:
            raise DatabaseNewer(f"the backup {source} is of revision {found}: install the newer version")
        if connection.execute("PRAGMA foreign_key_check").fetchone():
            raise DatabaseDamaged(f"the backup {source} has entries of a batch that is not there")


def restore(url: str, source: Path) -> Path | None:
    """Put the backup ``source`` in the place of the database at ``url``, after checking it.

    Returns where the SQLite file that stood there before is now. Nobody may work on the database.
    """
    check(source)
    with _opened(url) as database:
        if database.path is None:
            _restore_server(database, source)
            return None
        return _restore_file(database.path, source)


def _restore_file(path: Path, source: Path) -> Path | None:
    path.parent.mkdir(parents=True, exist_ok=True)
    sole = Sole(path)
    try:
        kept = schema.backup_name(path, "replaced") if path.exists() else None
        for ending in ("", "-wal", "-shm"):  # they belong together
            if kept is not None and path.with_name(path.name + ending).exists():
                os.replace(path.with_name(path.name + ending), kept.with_name(kept.name + ending))
        copy(source, path)
        return kept
    finally:
        sole.release()


def _restore_server(database: Database, source: Path) -> None:
    database.write_now(schema.upgrade)
    with tempfile.TemporaryDirectory() as folder:
        copy(source, Path(folder) / "copy.db")  # which may be migrated, as the backup may not
        with _opened(f"sqlite:///{folder}/copy.db") as backup:
            backup.write_now(schema.upgrade)
            with backup.engine.connect().execution_options(reading=True) as there:
                database.write_now(_replace, there)


def _replace(here: Connection, there: Connection) -> None:
    if membership.count(here):
        raise StoreError("processes work on this database: stop them first")
    for table in reversed(metadata.sorted_tables):
        here.execute(delete(table))
    _carry(there, here)
    _count_on(here)


def _carry(there: Connection, here: Connection) -> None:
    """Copy every row of every table, except what belongs to running processes."""
    for table in metadata.sorted_tables:
        if table is not workers:
            for rows in there.execute(select(table)).mappings().partitions(ROWS):
                here.execute(insert(table), [dict(row) for row in rows])
    for table in (lanes, reminders):
        here.execute(table.update().values(worker=None))


def _count_on(c: Connection) -> None:
    """Let the server count row numbers on from what was put in."""
    for table in metadata.sorted_tables:
        if _counts_itself(table):
            sequence = text("SELECT setval(pg_get_serial_sequence(:table, 'id'), :last)")
            last = c.execute(select(func.coalesce(func.max(table.c.id), 1))).scalar_one()
            c.execute(sequence, {"table": table.name, "last": last})


def _counts_itself(table: Table) -> bool:
    return table.autoincrement_column is not None and table.dialect_kwargs.get("sqlite_autoincrement", False)


@contextmanager
def _opened(url: str) -> Iterator[Database]:
    database = Database(url)
    try:
        yield database
    finally:
        database.close()
