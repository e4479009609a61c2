"""An SQLite file as a file: whether it is whole, and a consistent copy of it while it is in use."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path


def damage(path: Path, *, thorough: bool = False) -> str | None:
    """Return in a few words what is wrong with a database file, or None where it is whole.

    ``thorough`` compares every index with its table as well, which takes several times as long.
    """
    check = "integrity_check" if thorough else "quick_check"
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=rw", uri=True)) as connection:
            said = str(connection.execute(f"PRAGMA {check}(1)").fetchone()[0])
    except sqlite3.OperationalError:
        return None  # locked or not to be opened: says nothing about its pages
    except sqlite3.DatabaseError as error:
        return str(error)
    return None if said == "ok" else said.splitlines()[-1]


def copy(source: Path, target: Path) -> None:
    """Copy a database consistently, while others use it. ``target`` appears only when it is whole."""
    half = target.with_name(target.name + ".part")
    half.unlink(missing_ok=True)
    with (
        closing(sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True)) as one,
        closing(sqlite3.connect(half)) as other,
    ):
        one.backup(other)  # in one go: with a write-ahead log that keeps no writer waiting
        other.execute("PRAGMA journal_mode=DELETE")  # one file, whole by itself
    _to_disk(half)
    os.replace(half, target)


def _to_disk(path: Path) -> None:
    with path.open("rb") as file:
        os.fsync(file.fileno())
