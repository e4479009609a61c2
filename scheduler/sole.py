"""One process to an SQLite file: a lock beside it, which the system lets go when the process ends."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from scheduler.errors import DatabaseInUse, DatabaseUnreachable


class Sole:
    """The right to work on an SQLite file alone.

    The lock is an exclusive transaction on a second, empty SQLite file: it works wherever the
    database itself does, and is gone with the process however that ended.
    """

    def __init__(self, path: Path) -> None:
        """Take the lock for the database at ``path``. Raises DatabaseInUse where another has it."""
        beside = path.with_name(path.name + ".lock")
        try:
            self._connection = sqlite3.connect(beside, timeout=0, isolation_level=None, check_same_thread=False)
            self._connection.execute("PRAGMA locking_mode=EXCLUSIVE")
            self._connection.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as error:
            if "locked" in str(error):
                raise DatabaseInUse(
                    f"another process works on {path}: stop it first, or use PostgreSQL for several"
                ) from error
            raise DatabaseUnreachable(f"cannot write beside {path}: {error}") from error

    def release(self) -> None:
        """Let the lock go."""
        self._connection.close()
