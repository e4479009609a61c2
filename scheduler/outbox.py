"""The durable outbox: everything said stands here in the transaction that caused it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import Connection, Row, bindparam, case, delete, func, insert, select, update

from scheduler import lanes
from scheduler.tables import is_queued, outbox
from scheduler.turn import Button, Message


@dataclass(frozen=True)
class Outgoing:
    """A message to be sent. ``id`` is what a :class:`Tap` names.

    ``attempt`` counts from 1. ``replaces`` is the messenger's id of the pinned message that this
    one takes the place of. ``unsure`` is True where an earlier attempt may have arrived.
    """

    id: int
    chat: str
    message: Message
    created_at: datetime
    attempt: int = 1
    replaces: str | None = None
    unsure: bool = False
    next_slot: datetime | None = None


def enqueue(c: Connection, chat: str, messages: Sequence[Message], now: datetime, *, fleeting: bool = False) -> None:
    """Put messages in the chat's queue, in order. Fleeting ones leave no trace once sent."""
    if not messages:
        return
    rows = [_row(chat, message, now, fleeting) for message in messages]
    c.execute(insert(outbox), rows)
    lanes.knock(c, chat, "out", now, urgent=any(m.urgent for m in messages))


def claim(c: Connection, worker: str, now: datetime, limit: int) -> list[Outgoing]:
    """Take the first message of up to ``limit`` chats to which nobody is sending."""
    taken = []
    for lane in lanes.claim(c, "out", worker, now, limit):
        head = c.execute(_head(), {"chat": lane.chat}).first()
        if head is None:
            lanes.release(c, lane.chat, "out", now, waiting=False)
        else:
            taken.append(_outgoing(c, head, lane.next_slot))
    return taken


def close(
    c: Connection,
    worker: str,
    out: Outgoing,
    state: str,
    now: datetime,
    *,
    messenger_id: str | None = None,
    trace: str | None = None,
    next_slot: datetime | None = None,
    not_before: datetime | None = None,
) -> None:
    """Note how a message ended (sent, unsure, refused, expired) and let its lane go."""
    held = lanes.hold(c, out.chat, "out", worker)
    c.execute(
        update(outbox)
        .where(outbox.c.id == out.id, is_queued)
        .values(state=state, sent_at=now, messenger_id=messenger_id, trace=trace, attempts=out.attempt)
    )
    fleeting = c.execute(delete(outbox).where(outbox.c.id == out.id, outbox.c.fleeting)).rowcount
    if held:
        _let_go(c, out.chat, now, not_before, next_slot)
    if fleeting:
        lanes.drop_idle(c, out.chat)


def put_back(
    c: Connection,
    worker: str,
    out: Outgoing,
    trace: str,
    now: datetime,
    *,
    not_before: datetime,
    unsure: bool = False,
) -> None:
    """Let a message stand at the head of its queue, to be tried again at ``not_before``."""
    held = lanes.hold(c, out.chat, "out", worker)
    c.execute(
        update(outbox)
        .where(outbox.c.id == out.id, is_queued)
        .values(attempts=out.attempt, trace=trace, unsure=out.unsure or unsure)
    )
    if held:
        _let_go(c, out.chat, now, not_before, None)


def drop_all(c: Connection, worker: str, chat: str, now: datetime, trace: str) -> None:
    """Drop what is queued for a chat in which nobody can be reached."""
    held = lanes.hold(c, chat, "out", worker)
    c.execute(update(outbox).where(outbox.c.chat == chat, is_queued).values(state="gone", sent_at=now, trace=trace))
    c.execute(delete(outbox).where(outbox.c.chat == chat, outbox.c.fleeting))
    if held:
        lanes.release(c, chat, "out", now, waiting=False)


def outcomes(c: Connection, chat: str) -> list[str]:
    """Return the state of each message said in a chat, oldest first."""
    return list(c.execute(select(outbox.c.state).where(outbox.c.chat == chat).order_by(outbox.c.id)).scalars())


def message_of(row: Row[Any]) -> Message:
    """Return the message kept in a row."""
    return Message(
        text=row.text,
        buttons=tuple(Button(b["label"], b["means"]) for b in row.buttons),
        facts=tuple(row.facts),
        files=tuple(row.files),
        urgent=row.urgent,
        silent=row.silent,
        pin=row.pin,
    )


def _row(chat: str, message: Message, now: datetime, fleeting: bool) -> dict[str, Any]:
    return {
        "chat": chat,
        "created_at": now,
        "text": message.text,
        "buttons": [{"label": b.label, "means": b.means} for b in message.buttons],
        "facts": list(message.facts),
        "files": list(message.files),
        "urgent": message.urgent,
        "silent": message.silent,
        "pin": message.pin,
        "fleeting": fleeting,
    }


def _outgoing(c: Connection, row: Row[Any], next_slot: datetime | None) -> Outgoing:
    return Outgoing(
        id=row.id,
        chat=row.chat,
        message=message_of(row),
        created_at=row.created_at,
        attempt=row.attempts + 1,
        replaces=_pinned(c, row),
        unsure=row.unsure,
        next_slot=next_slot,
    )


def _pinned(c: Connection, row: Row[Any]) -> str | None:
    if row.pin is None:
        return None
    return c.execute(
        select(outbox.c.messenger_id)
        .where(
            outbox.c.chat == row.chat,
            outbox.c.pin == row.pin,
            outbox.c.id < row.id,
            outbox.c.messenger_id.is_not(None),
        )
        .order_by(outbox.c.id.desc())
        .limit(1)
    ).scalar_one_or_none()


def _let_go(c: Connection, chat: str, now: datetime, not_before: datetime | None, next_slot: datetime | None) -> None:
    urgent = c.execute(_urgency(), {"chat": chat}).scalar_one()
    lanes.release(
        c,
        chat,
        "out",
        now,
        waiting=urgent is not None,
        urgent=bool(urgent),
        not_before=not_before,
        next_slot=next_slot,
    )


@cache
def _head() -> Any:
    standing = (outbox.c.chat == bindparam("chat")) & is_queued
    return select(outbox).where(standing).order_by(outbox.c.id).limit(1)


@cache
def _urgency() -> Any:
    standing = (outbox.c.chat == bindparam("chat")) & is_queued
    return select(func.max(case((outbox.c.urgent, 1), else_=0))).where(standing)
