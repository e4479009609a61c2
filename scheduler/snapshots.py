"""Reading: all that an answer may depend on, as values."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, select

from planner.entries import Entry
from scheduler import lessons
from scheduler.outbox import message_of
from scheduler.reminders import NO_BATCH, ring_of
from scheduler.rows import entry_of
from scheduler.tables import batches, chats, entries, is_pending, outbox, reminders
from scheduler.turn import BatchFile, Chat, Message, Ring, Snapshot

#: How much of a chat an answer sees: a chat with ten thousand batches is as quick as any other.
RUNNING = 40
CLOSED = 8
RECENT = 20


def snapshot(
    c: Connection, chat: str, now: datetime, new_chat: Callable[[str], Chat], also: int | None = None
) -> Snapshot:
    """Return the chat as it stands, with its newest batches and batch ``also`` whatever its age."""
    row = c.execute(select(chats).where(chats.c.id == chat)).first()
    if row is None:
        return Snapshot(new_chat(chat), (), now)
    known = chat_of(row) if row.forgotten_at is None else new_chat(chat)
    return Snapshot(
        chat=known,
        batches=_batches(c, chat, _chosen(c, chat, also)),
        now=now,
        recent=_recent(c, chat),
        loose=_loose(c, chat),
        version=row.version,
        taught=lessons.newest(c, chat),
    )


def batch(c: Connection, chat: str, number: int) -> BatchFile | None:
    """Return one batch with its journal, or None where the chat has no such batch."""
    found = c.execute(select(batches).where(batches.c.chat == chat, batches.c.number == number)).all()
    return _batches(c, chat, found)[0] if found else None


def whole(c: Connection, chat: str) -> tuple[BatchFile, ...]:
    """Return every batch of a chat with its journal, oldest first."""
    rows = c.execute(select(batches).where(batches.c.chat == chat).order_by(batches.c.number)).all()
    return tuple(file for row in rows for file in _batches(c, chat, [row]))


def listing(c: Connection, chat: str | None = None) -> list[tuple[str, BatchFile]]:
    """Return every batch without its journal, oldest first, each with its chat."""
    query = select(batches).order_by(batches.c.chat, batches.c.number)
    rows = c.execute(query if chat is None else query.where(batches.c.chat == chat))
    return [(row.chat, _file(row, ())) for row in rows]


def forgotten(c: Connection) -> list[str]:
    """Return the chats that were forgotten and have not spoken since."""
    return list(c.execute(select(chats.c.id).where(chats.c.forgotten_at.is_not(None))).scalars())


def chat_of(row: Row[Any]) -> Chat:
    """Return a conversation's habits as kept in a row."""
    return Chat(row.id, row.zone, row.units, (row.quiet_from, row.quiet_to), row.welcome, row.memory)


def _chosen(c: Connection, chat: str, also: int | None) -> list[Row[Any]]:
    newest = select(batches).where(batches.c.chat == chat).order_by(batches.c.number.desc())
    rows = [
        *c.execute(newest.where(batches.c.closed_at.is_(None)).limit(RUNNING)),
        *c.execute(newest.where(batches.c.closed_at.is_not(None)).limit(CLOSED)),
    ]
    if also is not None and all(row.number != also for row in rows):
        rows += c.execute(newest.where(batches.c.number == also))
    return sorted(rows, key=lambda row: row.number)


def _batches(c: Connection, chat: str, rows: Iterable[Row[Any]]) -> tuple[BatchFile, ...]:
    rows = list(rows)
    journals: dict[int, list[Entry]] = defaultdict(list)
    found = (
        select(entries)
        .where(entries.c.chat == chat, entries.c.batch.in_([row.number for row in rows]))
        .order_by(entries.c.batch, entries.c.number)
    )
    for row in c.execute(found):
        journals[row.batch].append(entry_of(row))
    return tuple(_file(row, tuple(journals[row.number])) for row in rows)


def _file(row: Row[Any], journal: tuple[Entry, ...]) -> BatchFile:
    return BatchFile(row.number, row.name, row.opened_at, row.closed_at, journal)


def _recent(c: Connection, chat: str) -> tuple[Message, ...]:
    said = (outbox.c.chat == chat) & outbox.c.pin.is_(None)
    rows = c.execute(select(outbox).where(said).order_by(outbox.c.id.desc()).limit(RECENT))
    return tuple(message_of(row) for row in rows)


def _loose(c: Connection, chat: str) -> tuple[Ring, ...]:
    rows = c.execute(
        select(reminders)
        .where(reminders.c.chat == chat, reminders.c.batch == NO_BATCH, is_pending)
        .order_by(reminders.c.due)
    )
    return tuple(ring_of(row) for row in rows)
