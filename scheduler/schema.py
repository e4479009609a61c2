"""Opening a database: made, checked, brought up to date."""

from __future__ import annotations

import tempfile
from pathlib import Path

from sqlalchemy.exc import DBAPIError

from scheduler.database import Database, unreachable
from scheduler.tables import metadata


async def open_database(url: str, *, migrate: bool) -> Database:
    """Open the database at ``url``, made where it is not there."""
    database = Database(url)
    try:
        metadata.create_all(database.engine)
    except DBAPIError as error:
        raise unreachable(url, error) from error
    return database


def throwaway() -> Database:
    """Return a fresh SQLite database without durability, gone when it is closed."""
    folder = tempfile.mkdtemp(prefix="brinebell-")
    database = Database(f"sqlite:///{Path(folder) / 'replay.db'}", inline=True, durable=False)
    metadata.create_all(database.engine)
    return database
