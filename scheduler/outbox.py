"""The durable outbox: everything said stands here in the transaction that caused it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import Connection, Row, bindparam, case, delete, func, insert, select, update

from scheduler import cards, lanes
from scheduler.cards import Card
from scheduler.tables import is_queued, outbox
from scheduler.turn import Button, Message


@dataclass(frozen=True)
class Outgoing:
    """A message to be sent. ``id`` is what a :class:`Tap` names.

    ``attempt`` counts from 1. ``unsure`` is True where an earlier attempt may have arrived. Of a card,
    ``replaces`` is the messenger's id of the message that it takes the place of, and ``shown`` is True
    where that message shows these words already.
    """

    id: int
    chat: str
    message: Message
    created_at: datetime
    attempt: int = 1
    replaces: str | None = None
    unsure: bool = False
    next_slot: datetime | None = None
    card: Card | None = None
    shown: bool = False


def enqueue(c: Connection, chat: str, messages: Sequence[Message], now: datetime, *, fleeting: bool = False) -> None:
    """Put messages in the chat's queue, in order. Fleeting ones leave no trace once sent.

    A card that says nothing new is left out.
    """
    plain = [message for message in messages if message.pin is None]
    if plain:
        c.execute(insert(outbox), [_row(chat, message, now, fleeting) for message in plain])
    shown = [m for m in messages if m.pin is not None and cards.says_news(c, chat, m)]
    for card in shown:
        row = c.execute(insert(outbox).returning(outbox.c.id), _row(chat, card, now, fleeting)).scalar_one()
        cards.wrote(c, chat, card.pin or "", row)
    if plain or shown:
        lanes.knock(c, chat, "out", now, urgent=any(m.urgent for m in plain))


def claim(c: Connection, worker: str, now: datetime, limit: int) -> list[Outgoing]:
    """Take the first message of up to ``limit`` chats to which nobody is sending."""
    taken = []
    for lane in lanes.claim(c, "out", worker, now, limit):
        head = _first(c, lane.chat)
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
    if out.message.pin is not None and fleeting:
        cards.drop(c, out.chat, out.message.pin)
    elif out.message.pin is not None and messenger_id is not None:
        cards.showed(c, out.chat, out.message.pin, messenger_id)
    if held:
        _let_go(c, out.chat, now, not_before, next_slot)
    if fleeting:
        lanes.drop_idle(c, out.chat)


def to_be_pinned(
    c: Connection,
    worker: str,
    out: Outgoing,
    now: datetime,
    *,
    messenger_id: str,
    next_slot: datetime | None = None,
    not_before: datetime | None = None,
) -> None:
    """Note which message shows a card; it stays in the queue until that one is pinned."""
    held = lanes.hold(c, out.chat, "out", worker)
    c.execute(update(outbox).where(outbox.c.id == out.id, is_queued).values(messenger_id=messenger_id, unsure=False))
    cards.showed(c, out.chat, out.message.pin or "", messenger_id)
    if held:
        _let_go(c, out.chat, now, not_before, next_slot)


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


def _first(c: Connection, chat: str) -> Row[Any] | None:
    """Return what goes next: words before cards, and of a card the newest words alone."""
    while (head := c.execute(_head(), {"chat": chat}).first()) is not None and head.pin is not None:
        card = cards.find(c, chat, head.pin)
        newest = card.newest if card is not None else None
        if newest is not None and newest > head.id:
            cards.pass_older(c, chat, head.pin, newest)
        elif card is not None and card.over and card.shown is None:
            cards.pass_older(c, chat, head.pin, head.id + 1)
        else:
            break
    return head


def _outgoing(c: Connection, row: Row[Any], next_slot: datetime | None) -> Outgoing:
    card = cards.find(c, row.chat, row.pin) or Card() if row.pin is not None else None
    shows = (card.shown or cards.shown_before(c, row.chat, row.pin, row.id)) if card is not None else None
    return Outgoing(
        id=row.id,
        chat=row.chat,
        message=message_of(row),
        created_at=row.created_at,
        attempt=row.attempts + 1,
        replaces=shows,
        unsure=row.unsure,
        next_slot=next_slot,
        card=card,
        shown=shows is not None and row.messenger_id == shows,
    )


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
    return select(outbox).where(standing).order_by(outbox.c.pin.is_not(None), outbox.c.id).limit(1)


@cache
def _urgency() -> Any:
    standing = (outbox.c.chat == bindparam("chat")) & is_queued
    return select(func.max(case((outbox.c.urgent, 1), else_=0))).where(standing)
