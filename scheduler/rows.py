"""Rows as values."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Row

from planner.entries import Entry, Kind


def entry_of(row: Row[Any]) -> Entry:
    """Return an entry of a journal as kept in a row."""
    return Entry(
        number=row.number,
        kind=Kind(row.kind),
        happened_at=row.happened_at,
        told_at=row.told_at,
        who=row.who,
        data=row.data,
        words=row.words,
        voids=row.voids,
    )
