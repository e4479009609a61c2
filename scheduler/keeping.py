"""Keeping an outcome: all of it in one transaction, with the mark that its cause is dealt with."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, select, update
from sqlalchemy.exc import IntegrityError

from planner.entries import Entry
from scheduler import inbox, outbox, reminders
from scheduler.errors import Conflict, LeaseLost
from scheduler.forgetting import forget
from scheduler.inbox import Waiting
from scheduler.ringing import Calls
from scheduler.tables import batches, chats, entries
from scheduler.tables import outbox as outbox_table
from scheduler.turn import Chat, NewBatch, Outcome, Snapshot

Cause = Waiting | Calls


def commit(c: Connection, outcome: Outcome, cause: Cause | None, seen: Snapshot, *, now: datetime, worker: str) -> None:
    """Keep ``outcome``, reckoned from ``seen``, and mark ``cause`` as dealt with.

    Raises LeaseLost where the cause is not this worker's any more, Conflict where the chat changed
    since the snapshot; nothing is kept then.
    """
    _take_cause(c, cause, worker)
    chat = seen.chat.id
    if outcome.keep_nothing:
        outbox.enqueue(c, chat, outcome.messages, now, fleeting=True)
    elif outcome.forget:
        forget(c, chat, seen, now, cards_down={m.pin for m in outcome.messages if m.pin is not None})
        outbox.enqueue(c, chat, outcome.messages, now, fleeting=True)
    else:
        _keep(c, outcome, seen, now)
    if isinstance(cause, Waiting):
        _note_press(c, cause)
        inbox.finish(c, cause, now, keep_chat=not (outcome.keep_nothing or outcome.forget))


def set_aside(c: Connection, worker: str, item: Waiting, trace: str, outcome: Outcome, *, now: datetime) -> None:
    """Take a message that cannot be handled out of the way, with its trace, and say so."""
    if not inbox.still_held(c, item, worker):
        raise LeaseLost(f"message {item.id} is not in hand any more")
    outbox.enqueue(c, item.inbound.chat, outcome.messages, now)
    inbox.set_aside(c, item, trace, now)


def put_chat(c: Connection, chat: Chat, now: datetime) -> None:
    """Set a conversation's habits from outside a turn (settings, an allow list)."""
    version = c.execute(select(chats.c.version).where(chats.c.id == chat.id)).scalar_one_or_none()
    _put_chat(c, chat, version or 0, now)


def _take_cause(c: Connection, cause: Cause | None, worker: str) -> None:
    if isinstance(cause, Waiting):
        if not inbox.still_held(c, cause, worker):
            raise LeaseLost(f"message {cause.id} is not in hand any more")
    elif isinstance(cause, Calls):
        rung = reminders.take(c, [cause.item, *cause.merged], worker, "rung")
        if not (rung and reminders.take(c, cause.dropped, worker, "dropped")):
            raise LeaseLost(f"reminder {cause.item.id} was moved or withdrawn")


def _keep(c: Connection, outcome: Outcome, seen: Snapshot, now: datetime) -> None:
    chat = seen.chat.id
    _put_chat(c, outcome.chat or seen.chat, seen.version, now)
    try:
        _open(c, chat, outcome.opened, now)
        _append(c, chat, outcome.entries)
    except IntegrityError as error:
        raise Conflict(f"chat {chat} has these batches or entries already") from error
    for number, name in outcome.renamed.items():
        c.execute(update(batches).where(_one(chat, number)).values(name=name))
    for number in outcome.closed:
        c.execute(update(batches).where(_one(chat, number)).values(closed_at=now))
    for batch, rings in outcome.rings.items():
        reminders.match(c, chat, batch, rings)
    outbox.enqueue(c, chat, outcome.messages, now)


def _put_chat(c: Connection, chat: Chat, version: int, now: datetime) -> None:
    values = {
        "version": version + 1,
        "zone": chat.zone,
        "units": chat.units,
        "quiet_from": chat.quiet[0],
        "quiet_to": chat.quiet[1],
        "welcome": chat.welcome,
        "memory": chat.memory,
        "forgotten_at": None,
    }
    if version:
        known = update(chats).where(chats.c.id == chat.id, chats.c.version == version).values(values)
        if c.execute(known).rowcount != 1:
            raise Conflict(f"chat {chat.id} changed since it was looked at")
        return
    try:
        c.execute(insert(chats).values(id=chat.id, created_at=now, **values))
    except IntegrityError as error:
        raise Conflict(f"chat {chat.id} is there already") from error


def _open(c: Connection, chat: str, opened: Sequence[NewBatch], now: datetime) -> None:
    if opened:
        rows = [{"chat": chat, "number": b.number, "name": b.name, "opened_at": now} for b in opened]
        c.execute(insert(batches), rows)


def _append(c: Connection, chat: str, told: Mapping[int, Sequence[Entry]]) -> None:
    rows = [_row(chat, batch, entry) for batch, journal in told.items() for entry in journal]
    if rows:
        c.execute(insert(entries), rows)


def _row(chat: str, batch: int, entry: Entry) -> dict[str, Any]:
    return {
        "chat": chat,
        "batch": batch,
        "number": entry.number,
        "kind": entry.kind.value,
        "happened_at": entry.happened_at,
        "told_at": entry.told_at,
        "who": entry.who,
        "data": entry.data,
        "words": entry.words,
        "voids": entry.voids,
    }


def _one(chat: str, number: int) -> Any:
    return (batches.c.chat == chat) & (batches.c.number == number)


def _note_press(c: Connection, cause: Waiting) -> None:
    press = cause.inbound.press
    if press is not None and press.message is not None:
        c.execute(update(outbox_table).where(outbox_table.c.id == press.message).values(taken=True))
