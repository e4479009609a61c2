"""Forgetting a chat on request, and moving one that the messenger gave another id."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, Table, delete, func, select, update

from scheduler import lanes as lane
from scheduler import outbox as queue
from scheduler import reminders
from scheduler.errors import Conflict
from scheduler.tables import batches, chats, entries, inbox, lanes, outbox
from scheduler.tables import reminders as reminders_table
from scheduler.turn import Snapshot


def forget(c: Connection, chat: str, seen: Snapshot, now: datetime) -> None:
    """Delete everything of a chat; a row stays that says when it was forgotten."""
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
    """Give a chat its new id. Batches that the new id already has come after the old one's."""
    if old == new or c.execute(select(chats.c.id).where(chats.c.id == old)).first() is None:
        _carry_queues(c, old, new, now)
        return
    last = c.execute(select(func.max(batches.c.number)).where(batches.c.chat == old)).scalar_one() or 0
    _renumber(c, new, last)
    c.execute(delete(chats).where(chats.c.id == new))
    c.execute(update(chats).where(chats.c.id == old).values(id=new, version=chats.c.version + 1))
    c.execute(update(batches).where(batches.c.chat == old).values(chat=new))
    c.execute(update(reminders_table).where(reminders_table.c.chat == old).values(chat=new, worker=None))
    _carry_queues(c, old, new, now)


def _renumber(c: Connection, chat: str, after: int) -> None:
    numbers = c.execute(
        select(batches.c.number).where(batches.c.chat == chat).order_by(batches.c.number.desc())
    ).scalars()
    for number in numbers.all() if after else []:
        c.execute(
            update(batches).where(batches.c.chat == chat, batches.c.number == number).values(number=number + after)
        )
        c.execute(
            update(reminders_table)
            .where(reminders_table.c.chat == chat, reminders_table.c.batch == number)
            .values(batch=number + after)
        )


def _carry_queues(c: Connection, old: str, new: str, now: datetime) -> None:
    ways: tuple[tuple[lane.Way, Table, str], ...] = (("in", inbox, "new"), ("out", outbox, "queued"))
    for way, table, state in ways:
        c.execute(update(table).where(table.c.chat == old).values(chat=new))
        waiting = c.execute(select(table.c.id).where(table.c.chat == new, table.c.state == state)).first()
        if waiting is not None:
            lane.knock(c, new, way, now)
    if old != new:
        c.execute(delete(lanes).where(lanes.c.chat == old))
