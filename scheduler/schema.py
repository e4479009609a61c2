"""Opening a database: made on first use, checked, brought up to date after a backup copy.

Alembic is imported only where there is something to migrate: it would cost every start 0.3 s.
"""

from __future__ import annotations

import asyncio
import shutil
import tempfile
from pathlib import Path

from sqlalchemy import Connection, inspect, text
from sqlalchemy.exc import DBAPIError

from scheduler.clock import SystemClock
from scheduler.database import Database, unreachable
from scheduler.errors import DatabaseDamaged, DatabaseNewer, DatabaseOlder, DatabaseUnreachable
from scheduler.sole import Sole
from scheduler.sqlitefile import copy, damage
from scheduler.tables import metadata

MIGRATIONS = Path(__file__).parent / "migrations"
#: Every revision this program knows, oldest first: the numbers that open the files' names.
REVISIONS = tuple(sorted(p.stem[:4] for p in (MIGRATIONS / "versions").glob("[0-9]*.py")))
HEAD = REVISIONS[-1]
#: One migration at a time, however many processes start together (PostgreSQL advisory lock).
MIGRATION_LOCK = 0x6272_696E


async def open_database(url: str, *, migrate: bool = True, alone: bool = True) -> Database:
    """Open the database at ``url`` and bring it up to date.

    ``alone`` refuses a second process on an SQLite file; without it the file is only looked at.
    """
    return await asyncio.to_thread(_open, url, migrate=migrate, alone=alone)


def throwaway() -> Database:
    """Return a fresh SQLite database without durability, gone when it is closed."""
    folder = Path(tempfile.mkdtemp(prefix="throwaway-"))
    database = Database(f"sqlite:///{folder / 'store.db'}", inline=True, durable=False)
    database.at_close(lambda: shutil.rmtree(folder, ignore_errors=True))
    metadata.create_all(database.engine)
    return database


def revision(c: Connection) -> str | None:
    """Return the revision of the tables there, or None in an empty database."""
    if not inspect(c).has_table("alembic_version"):
        return None
    found: str | None = c.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none()
    return found


def upgrade(c: Connection, to: str = "head") -> None:
    """Run the migrations up to ``to`` in the connection's transaction."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = c
    command.upgrade(config, to)


def _open(url: str, *, migrate: bool, alone: bool) -> Database:
    database = Database(url)
    try:
        if database.path is not None:
            _ready_file(database, database.path, alone=alone)
        _bring_up_to_date(database, migrate=migrate and alone)
    except DBAPIError as error:
        database.close()
        raise unreachable(url, error) from error
    except BaseException:
        database.close()
        raise
    return database


def _ready_file(database: Database, path: Path, *, alone: bool) -> None:
    if not alone:
        if not path.exists():
            raise DatabaseUnreachable(f"there is no database file {path}")
        return
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise DatabaseUnreachable(f"cannot make the folder {path.parent}: {error.strerror}") from error
    sole = Sole(path)
    database.at_close(sole.release)
    if path.exists() and (wrong := damage(path)):
        raise DatabaseDamaged(f"the database file {path} is damaged ({wrong}): restore a backup, or move the file away")


def _bring_up_to_date(database: Database, *, migrate: bool) -> None:
    found = database.read_now(revision)
    if found == HEAD:
        return
    if found is not None and found not in REVISIONS:
        raise DatabaseNewer(
            f"the database is of revision {found}, newer than this program knows ({HEAD}): install the newer version"
        )
    if not migrate:
        raise DatabaseOlder(f"the database is of revision {found}, not {HEAD}: it has to be migrated first")
    if found is not None and database.path is not None:
        copy(database.path, backup_name(database.path, found))
    database.write_now(_migrate)


def _migrate(c: Connection) -> None:
    if c.dialect.name == "postgresql":
        c.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": MIGRATION_LOCK})
    if revision(c) != HEAD:  # another process may have been quicker
        upgrade(c)


def backup_name(path: Path, found: str) -> Path:
    """Return where the copy goes that is made before a migration from revision ``found``."""
    stamp = SystemClock().now().strftime("%Y%m%dT%H%M%SZ")
    return path.with_name(f"{path.stem}.revision-{found}.{stamp}{path.suffix}")
