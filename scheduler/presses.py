"""Which button was pressed, and whether it still counts."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Row, select

from scheduler.arrivals import Tap
from scheduler.tables import outbox
from scheduler.turn import Press

#: How many of the newest messages are searched for a label.
SEARCHED = 60


def look_up(c: Connection, chat: str, tap: Tap) -> Press:
    """Return what ``tap`` means in ``chat``; ``unknown`` where this chat has no such button."""
    found = _by_place(c, chat, tap) if tap.message is not None else _by_label(c, chat, tap.label)
    if found is None:
        return Press(label=tap.label, means={}, message=None, unknown=True)
    row, button = found
    return Press(label=button["label"], means=button["means"], message=row.id, taken=row.taken)


#: No row has a greater number: a forged press may name any.
MOST = 2**63 - 1


def _by_place(c: Connection, chat: str, tap: Tap) -> tuple[Row[Any, Any, Any], dict[str, Any]] | None:
    if tap.message is None or not 0 < tap.message <= MOST or tap.index is None:
        return None
    row = c.execute(
        select(outbox.c.id, outbox.c.buttons, outbox.c.taken).where(outbox.c.id == tap.message, outbox.c.chat == chat)
    ).first()
    if row is None or not 0 <= tap.index < len(row.buttons):
        return None
    return row, row.buttons[tap.index]


def _by_label(c: Connection, chat: str, label: str) -> tuple[Row[Any, Any, Any], dict[str, Any]] | None:
    wanted = label.strip().casefold()
    rows = c.execute(
        select(outbox.c.id, outbox.c.buttons, outbox.c.taken)
        .where(outbox.c.chat == chat, outbox.c.pin.is_(None))
        .order_by(outbox.c.id.desc())
        .limit(SEARCHED)
    )
    for row in rows:
        for button in row.buttons:
            if button["label"].strip().casefold() == wanted:
                return row, button
    return None
