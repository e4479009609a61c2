"""What stands in the store: for the metrics, and for whoever looks after it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlalchemy import ColumnElement, Connection, Table, func, select

from scheduler import membership
from scheduler.lateness import GRACE
from scheduler.tables import inbox, is_new, is_pending, is_queued, outbox, reminders


@dataclass(frozen=True)
class Aside:
    """A message or reminder that was set aside. ``trace`` may hold words of people: show it, don't log it."""

    what: Literal["message", "reminder"]
    id: int
    chat: str
    trace: str


@dataclass(frozen=True)
class Counts:
    """How much stands in the store. ``late`` is of reminders past the grace that nobody has rung."""

    waiting: int
    queued: int
    retrying: int
    pending: int
    due: int
    late: int
    aside: int
    workers: int


def aside(c: Connection) -> list[Aside]:
    """Return what was set aside, oldest first."""
    found = [
        Aside("message", row.id, row.chat, row.trace or "")
        for row in c.execute(select(inbox).where(inbox.c.state == "aside").order_by(inbox.c.id))
    ]
    late = c.execute(select(reminders).where(reminders.c.state == "aside").order_by(reminders.c.id))
    return found + [Aside("reminder", row.id, row.chat, row.trace or "") for row in late]


def counts(c: Connection, now: datetime) -> Counts:
    """Return how much stands in the store at ``now``."""
    return Counts(
        waiting=_count(c, inbox, is_new),
        queued=_count(c, outbox, is_queued),
        retrying=_count(c, outbox, is_queued & (outbox.c.attempts > 0)),
        pending=_count(c, reminders, is_pending),
        due=_count(c, reminders, is_pending & (reminders.c.call_at <= now)),
        late=_count(c, reminders, is_pending & (reminders.c.call_at <= now - GRACE)),
        aside=_count(c, inbox, inbox.c.state == "aside") + _count(c, reminders, reminders.c.state == "aside"),
        workers=membership.count(c),
    )


def _count(c: Connection, table: Table, where: ColumnElement[bool]) -> int:
    return c.execute(select(func.count()).select_from(table).where(where)).scalar_one()
