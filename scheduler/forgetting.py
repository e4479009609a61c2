"""Forgetting a chat on request, and moving one that the messenger gave another id."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, Table, delete, func, select, update

from scheduler import cards, reminders
from scheduler import lanes as lane
from scheduler import outbox as queue
from scheduler.errors import Conflict
from scheduler.tables import batches, chats, entries, inbox, is_new, is_queued, lanes, outbox
from scheduler.tables import reminders as reminders_table
from scheduler.turn import Snapshot


def forget(c: Connection, chat: str, seen: Snapshot, now: datetime, *, cards_down: Collection[str] = ()) -> None:
    """Delete everything of a chat; a row stays that says when it was forgotten.

    ``cards_down`` are the keys of cards whose farewell is about to be said; they go once that is done.
    """
    blank = {
        "version": seen.version + 1,
        "memory": {},
        "units": None,
        "zone": "UTC",
        "welcome": False,
        "forgotten_at": now,
    }
    changed = c.execute(update(chats).where(chats.c.id == chat, chats.c.version == seen.version).values(blank)).rowcount
    if seen.version and changed != 1:
        raise Conflict(f"chat {chat} changed since it was looked at")
    for table in (entries, batches, reminders_table, outbox):
        c.execute(delete(table).where(table.c.chat == chat))
    cards.forget(c, chat, cards_down)
    done = (inbox.c.chat == chat) & (inbox.c.state != "new")
    c.execute(update(inbox).where(done).values(chat="", body=None, trace=None))


def gone(c: Connection, worker: str, chat: str, now: datetime, trace: str) -> None:
    """Note that nobody can be reached in a chat: its reminders are parked until it speaks again."""
    c.execute(update(chats).where(chats.c.id == chat).values(gone_at=now))
    reminders.park(c, chat)
    queue.drop_all(c, worker, chat, now, trace)


def back(c: Connection, chat: str) -> None:
    """Note that a chat that was gone has spoken."""
    was_gone = update(chats).where(chats.c.id == chat, chats.c.gone_at.is_not(None)).values(gone_at=None)
    if c.execute(was_gone).rowcount:
        reminders.unpark(c, chat)


def move(c: Connection, old: str, new: str, now: datetime) -> None:
    """Give a chat its new id.

    Where the new id is known already (somebody wrote there first), the two become one: the older
    keeps its habits and its batches' numbers, the batches of the other come after them.
    """
    if old == new:
        return
    born = {
        row.id: row.created_at
        for row in c.execute(select(chats.c.id, chats.c.created_at).where(chats.c.id.in_((old, new))))
    }
    cards.leave_behind(c, (old, new) if old in born and new in born else (old,))
    if old in born and new in born:
        first, second = sorted((old, new), key=lambda chat: born[chat])
        _join(c, first, second)
    for table in (batches, reminders_table):  # entries follow their batches
        c.execute(update(table).where(table.c.chat == old).values(chat=new))
    c.execute(update(chats).where(chats.c.id == old).values(id=new, version=chats.c.version + 1))
    _carry_queues(c, old, new, now)


def _join(c: Connection, first: str, second: str) -> None:
    """Put the batches and reminders of ``second`` behind those of ``first``, and drop its habits."""
    last = c.execute(select(func.max(batches.c.number)).where(batches.c.chat == first)).scalar_one() or 0
    numbers = select(batches.c.number).where(batches.c.chat == second).order_by(batches.c.number.desc())
    there = select(reminders_table.c.key).where(
        reminders_table.c.chat == first, reminders_table.c.batch == reminders.NO_BATCH
    )
    loose = (reminders_table.c.chat == second) & (reminders_table.c.batch == reminders.NO_BATCH)
    c.execute(delete(reminders_table).where(loose, reminders_table.c.key.in_(there)))
    c.execute(update(reminders_table).where(loose).values(chat=first))
    for number in c.execute(numbers).scalars().all():
        for table, column in ((batches, batches.c.number), (reminders_table, reminders_table.c.batch)):
            c.execute(
                update(table)
                .where(table.c.chat == second, column == number)
                .values({"chat": first, column.name: number + last})
            )
    c.execute(delete(chats).where(chats.c.id == second))
    c.execute(update(chats).where(chats.c.id == first).values(version=chats.c.version + 1))


def _carry_queues(c: Connection, old: str, new: str, now: datetime) -> None:
    ways: tuple[tuple[lane.Way, Table, ColumnElement[bool]], ...] = (
        ("in", inbox, is_new),
        ("out", outbox, is_queued),
    )
    for way, table, stands in ways:
        c.execute(update(table).where(table.c.chat == old).values(chat=new))
        if c.execute(select(table.c.id).where(table.c.chat == new, stands).limit(1)).first() is not None:
            lane.knock(c, new, way, now)
    c.execute(delete(lanes).where(lanes.c.chat == old))
