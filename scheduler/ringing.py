"""A due reminder's turn: what is told with it, what is dropped, and what is said about it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from scheduler import lateness, outbox, reminders
from scheduler.errors import LeaseLost
from scheduler.reminders import Claimed
from scheduler.snapshots import snapshot
from scheduler.turn import Chat, Due, Outcome, Snapshot


@dataclass(frozen=True)
class Calls:
    """A due reminder in hand, with those that are told with it and those whose use is over."""

    item: Claimed
    merged: tuple[Claimed, ...] = ()
    dropped: tuple[Claimed, ...] = ()


def begin(
    c: Connection, worker: str, item: Claimed, now: datetime, new_chat: Callable[[str], Chat]
) -> tuple[Snapshot, Calls, Due] | None:
    """Return what is needed to say a due reminder, or None where it has been dealt with."""
    together = reminders.due_together(c, item, worker, now)
    places = {other.id: place for place, other in enumerate(together)}
    if item.id not in places:
        return None
    place, calling = places[item.id], lateness.call([other.ring for other in together], now)
    dropped = tuple(together[i] for i in calling.drop)
    if place in calling.drop:
        reminders.take(c, dropped, worker, "dropped")
        return None
    if place in calling.merged and calling.newest is not None:
        place = calling.newest
    merged = tuple(together[i] for i in calling.merged) if place == calling.newest else ()
    fresh = together[place]
    due = Due(
        chat=item.chat,
        batch=item.batch,
        ring=fresh.ring,
        late_s=max(0.0, (now - fresh.ring.due).total_seconds()),
        again=fresh.again,
        merged=tuple(other.ring for other in merged),
    )
    return snapshot(c, item.chat, now, new_chat, item.batch), Calls(fresh, merged, dropped), due


def set_aside(c: Connection, worker: str, item: Claimed, trace: str, outcome: Outcome, *, now: datetime) -> None:
    """Take a reminder that cannot be said out of the way, with its trace, and say so."""
    if not reminders.set_aside(c, item, worker, trace):
        raise LeaseLost(f"reminder {item.id} was moved or withdrawn")
    outbox.enqueue(c, item.chat, outcome.messages, now)
