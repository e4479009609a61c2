"""Copies of a database: whose it is, and what to say of the outcome."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError

from bot.complaints import WorkFailed, WrongCall
from bot.doors.opening import Which, data_folder, database_file, database_url, there
from bot.settings import Settings
from scheduler import backup
from scheduler.errors import StoreError


def back_up(settings: Settings, of: str | None, target: Path) -> str:
    """Copy the database to ``target``, while it is in use; what was done, in a line."""
    known = there(settings)
    which = _chosen(of, known)
    if which not in known:
        raise WorkFailed(f"there is no database {database_file(settings, which)} yet; it is made on first use")
    with _failing(f"cannot copy to {target}"):
        backup.back_up(database_url(settings, which), target)
    return f"copied the {which} database to {target}"


def restore(settings: Settings, of: str | None, source: Path) -> str:
    """Check the copy ``source`` and put it in the database's place; what was done, in a line."""
    which = _chosen(of, there(settings) or list(Which))
    data_folder(settings)
    with _failing(f"cannot put {source} in place"):
        kept = backup.restore(database_url(settings, which), source)
    return f"restored the {which} database from {source}" + (f"; what was there is now {kept}" if kept else "")


def _chosen(of: str | None, choice: list[Which]) -> Which:
    """The database that is meant; WrongCall where that is not clear."""
    if of is not None:
        return Which(of)
    if len(choice) > 1:
        raise WrongCall("whose database? add --of terminal or --of telegram")
    return choice[0] if choice else Which.TERMINAL


@contextmanager
def _failing(what: str) -> Iterator[None]:
    try:
        yield
    except StoreError as error:
        raise WorkFailed(str(error)) from error
    except (OSError, sqlite3.Error, DBAPIError) as error:
        cause = error.orig if isinstance(error, DBAPIError) and error.orig else error
        raise WorkFailed(f"{what}: {cause}") from error
