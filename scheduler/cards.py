"""Cards: of each key a chat has one message that is pinned, and edited in place.

The words of a card go through the outbox as everything else; of one card only the newest text is
sent. What a messenger cannot do twice without harm, sending it, is noted before it is pinned: a crash
between the two can leave a second message behind, but never a second pin. To edit, to pin and to
unpin again what is so already does no harm.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, delete, exists, insert, or_, select, update

from scheduler.tables import cards, outbox
from scheduler.turn import Message

#: What newer words of the same card make needless.
PASSED = "passed"


@dataclass(frozen=True)
class Card:
    """What is known of a card.

    ``newest`` is the outbox row of its newest words. ``shown`` is the messenger's id of the message
    that shows it, ``pinned`` that of the message that is pinned. ``over``: not to be pinned any more.
    """

    newest: int | None = None
    shown: str | None = None
    pinned: str | None = None
    over: bool = False


def find(c: Connection, chat: str, key: str) -> Card | None:
    """Return what is known of a card, or None where the chat has none of this key."""
    row = c.execute(select(cards).where(_one(chat, key))).first()
    return None if row is None else Card(row.newest, row.shown, row.pinned, row.over)


def says_news(c: Connection, chat: str, message: Message) -> bool:
    """Note whether the card is to be pinned; True where ``message`` changes what the chat is to see."""
    key = message.pin or ""
    known = find(c, chat, key)
    if known is None:
        if not message.over:  # a card that nobody saw needs no farewell
            c.execute(insert(cards).values(chat=chat, key=key, over=False, refused=False))
        return not message.over
    if known.over != message.over:
        c.execute(update(cards).where(_one(chat, key)).values(over=message.over))
        return True
    return not _stands(c, known, message)


def wrote(c: Connection, chat: str, key: str, row: int) -> None:
    """Note which row of the outbox holds the newest words of a card."""
    c.execute(update(cards).where(_one(chat, key)).values(newest=row))


def pass_older(c: Connection, chat: str, key: str, newest: int) -> None:
    """Take the older words of a card out of the queue."""
    older = (outbox.c.chat == chat) & (outbox.c.pin == key) & (outbox.c.id < newest)
    c.execute(update(outbox).where(older, outbox.c.state == "queued").values(state=PASSED))


def showed(c: Connection, chat: str, key: str, message: str) -> None:
    """Note which message of the messenger's shows a card."""
    c.execute(update(cards).where(_one(chat, key)).values(shown=message))


def shown_before(c: Connection, chat: str, key: str, row: int) -> str | None:
    """Return the message that shows a card by the outbox alone: a process that knew no cards sent it."""
    earlier = (outbox.c.chat == chat) & (outbox.c.pin == key) & (outbox.c.id < row)
    return c.execute(
        select(outbox.c.messenger_id)
        .where(earlier, outbox.c.messenger_id.is_not(None))
        .order_by(outbox.c.id.desc())
        .limit(1)
    ).scalar_one_or_none()


def pinned(c: Connection, chat: str, key: str, message: str | None) -> None:
    """Note which message of the messenger's is pinned for a card; None for none."""
    c.execute(update(cards).where(_one(chat, key)).values(pinned=message, refused=False))


def refused(c: Connection, chat: str, key: str) -> bool:
    """Note that a card may not be pinned; True where that is the first in its chat."""
    told = c.execute(select(exists().where(cards.c.chat == chat, cards.c.refused))).scalar_one()
    c.execute(update(cards).where(_one(chat, key)).values(refused=True))
    return not told


def forget(c: Connection, chat: str, but: Collection[str]) -> None:
    """Forget the cards of a chat, ``but`` those that are still to be taken down."""
    c.execute(delete(cards).where(cards.c.chat == chat, or_(cards.c.key.not_in(but), cards.c.shown.is_(None))))
    c.execute(update(cards).where(cards.c.chat == chat).values(newest=None))


def drop(c: Connection, chat: str, key: str) -> None:
    """Forget one card."""
    c.execute(delete(cards).where(_one(chat, key)))


def leave_behind(c: Connection, chats: Collection[str]) -> None:
    """Forget the cards of chats that moved: numbers of messages mean nothing in the new one."""
    c.execute(delete(cards).where(cards.c.chat.in_(chats)))
    of_cards = outbox.c.chat.in_(chats) & outbox.c.pin.is_not(None)
    c.execute(update(outbox).where(of_cards, outbox.c.messenger_id.is_not(None)).values(messenger_id=None))


def _stands(c: Connection, known: Card, message: Message) -> bool:
    """True where the newest words of the card say the same, and were or will be shown."""
    if known.newest is None:
        return False
    row = c.execute(select(outbox.c.text, outbox.c.buttons, outbox.c.state).where(outbox.c.id == known.newest)).first()
    if row is None or row.state not in ("queued", "sent"):
        return False
    buttons: list[Any] = [{"label": b.label, "means": dict(b.means)} for b in message.buttons]
    return bool(row.text == message.text and row.buttons == buttons)


def _one(chat: str, key: str) -> ColumnElement[bool]:
    return (cards.c.chat == chat) & (cards.c.key == key)
