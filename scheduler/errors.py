"""What can go wrong with the store, each with a line for whoever runs it."""

from __future__ import annotations


class StoreError(Exception):
    """The store cannot do what was asked; the text says what is wrong and the way out."""


class DatabaseUnreachable(StoreError):
    """The database cannot be opened: a path that cannot be written, a server that is not there."""


class DatabaseInUse(StoreError):
    """Another process works on this SQLite file."""


class DatabaseNewer(StoreError):
    """The database was written by a newer version of this program."""


class DatabaseOlder(StoreError):
    """The database has to be migrated first."""


class DatabaseDamaged(StoreError):
    """The database file is not whole."""


class Conflict(StoreError):
    """The chat changed since the snapshot was taken: take a fresh one and answer again."""


class LeaseLost(StoreError):
    """What was being handled has meanwhile been dealt with, moved, withdrawn or taken over."""
