"""Reminders: matched to what the plan wants, claimed when due, marked when rung."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import Connection, Integer, Row, and_, bindparam, delete, func, insert, select, true, update

from scheduler.tables import is_pending, reminders
from scheduler.turn import Ring

#: Stands for the chat itself where a reminder hangs on no batch.
NO_BATCH = 0


@dataclass(frozen=True)
class Claimed:
    """A due reminder in this worker's hands."""

    id: int
    chat: str
    batch: int | None
    ring: Ring
    again: int
    failures: int


def match(c: Connection, chat: str, batch: int | None, wanted: Sequence[Ring]) -> None:
    """Make the pending reminders of a batch those that are wanted: withdraw, add, move, leave.

    One that was rung (or dropped) for the same moment is done: wanting it once more changes nothing.
    One that is moved keeps its count of how often it was rung. One that is in a worker's hands and is
    moved or withdrawn is out of them: that worker's commit fails.
    """
    number = batch or NO_BATCH
    rows = c.execute(select(reminders).where(reminders.c.chat == chat, reminders.c.batch == number))
    there = {row.key: row for row in rows}
    keys = {ring.key for ring in wanted}
    if len(keys) < len(wanted):
        raise ValueError(f"two reminders with one key are wanted in batch {number}")
    gone = [{"gone": row.id} for key, row in there.items() if key not in keys]
    if gone:
        c.execute(delete(reminders).where(reminders.c.id == bindparam("gone")), gone)
    new = [_row(chat, number, ring) for ring in wanted if ring.key not in there]
    if new:
        c.execute(insert(reminders), new)
    for ring in wanted:
        if ring.key in there:
            _move(c, there[ring.key], ring)


def _move(c: Connection, row: Row[Any], ring: Ring) -> None:
    values = _ring_values(ring)
    if ring_of(row) == ring:
        return
    if ring.due != row.due:
        values |= {"call_at": ring.due, "state": "pending", "worker": None, "failures": 0, "trace": None}
    c.execute(update(reminders).where(reminders.c.id == row.id).values(values))


def claim(c: Connection, worker: str, now: datetime, limit: int) -> list[Claimed]:
    """Take up to ``limit`` due reminders that nobody has: those that protect the food first, then oldest."""
    taken = _claim(c, worker, now, limit, protects=True)
    if len(taken) < limit:
        taken += _claim(c, worker, now, limit - len(taken), protects=False)
    return taken


def _claim(c: Connection, worker: str, now: datetime, limit: int, *, protects: bool) -> list[Claimed]:
    rows = c.execute(_claim_due(protects), {"now": now, "most": limit, "by": worker}).all()
    return [claimed(row) for row in sorted(rows, key=lambda r: (r.due, r.id))]


def listing(c: Connection, chat: str | None = None) -> list[tuple[str, int | None, Ring, str]]:
    """Return (chat, batch, reminder, state) of one chat or of all, by moment."""
    query = select(reminders).order_by(reminders.c.due, reminders.c.id)
    rows = c.execute(query if chat is None else query.where(reminders.c.chat == chat))
    return [(row.chat, row.batch or None, ring_of(row), row.state) for row in rows]


def next_due(c: Connection) -> datetime | None:
    """Return the earliest moment at which a reminder that nobody has falls due."""
    moments = [c.execute(_earliest(protects)).scalar_one() for protects in (True, False)]
    return min((m for m in moments if m is not None), default=None)


def due_together(c: Connection, item: Claimed, worker: str, now: datetime) -> list[Claimed]:
    """Return the due reminders of the item's batch that are this worker's or free to take."""
    rows = c.execute(
        select(reminders)
        .where(
            reminders.c.chat == item.chat,
            reminders.c.batch == (item.batch or NO_BATCH),
            is_pending,
            reminders.c.call_at <= now,
            reminders.c.worker.is_(None) | (reminders.c.worker == worker),
        )
        .order_by(reminders.c.due, reminders.c.id)
    )
    return [claimed(row) for row in rows]


def take(c: Connection, items: Iterable[Claimed], worker: str, state: str) -> bool:
    """Mark held or free reminders as rung or dropped; False where one was moved or taken meanwhile."""
    for item in items:
        changed = c.execute(
            update(reminders)
            .where(
                reminders.c.id == item.id,
                reminders.c.due == item.ring.due,
                is_pending,
                reminders.c.worker.is_(None) | (reminders.c.worker == worker),
            )
            .values(state=state, worker=None, again=item.again + (state == "rung"), failures=0)
        ).rowcount
        if changed != 1:
            return False
    return True


def put_back(c: Connection, item: Claimed, worker: str, trace: str, call_at: datetime) -> None:
    """Count a failure and free the reminder, to be tried again at ``call_at``."""
    c.execute(
        update(reminders)
        .where(reminders.c.id == item.id, reminders.c.worker == worker)
        .values(failures=item.failures + 1, trace=trace, call_at=call_at, worker=None)
    )


def set_aside(c: Connection, item: Claimed, worker: str, trace: str) -> bool:
    """Take a held reminder that cannot be said out of the way; False where it is not held any more."""
    aside = update(reminders).where(reminders.c.id == item.id, reminders.c.worker == worker)
    return c.execute(aside.values(state="aside", worker=None, trace=trace)).rowcount == 1


def let_go(c: Connection, ids: Sequence[int], worker: str) -> None:
    """Free held reminders for whoever comes next."""
    c.execute(update(reminders).where(reminders.c.id.in_(ids), reminders.c.worker == worker).values(worker=None))


def free_strays(c: Connection, worker: str, in_hand: Collection[int]) -> int:
    """Let go what ``worker`` holds without knowing it, after a claim whose reply was lost."""
    return c.execute(
        update(reminders).where(reminders.c.worker == worker, reminders.c.id.not_in(in_hand)).values(worker=None)
    ).rowcount


def park(c: Connection, chat: str) -> None:
    """Keep a chat's pending reminders from ringing while nobody can be reached there."""
    c.execute(update(reminders).where(reminders.c.chat == chat, is_pending).values(state="parked", worker=None))


def unpark(c: Connection, chat: str) -> None:
    """Let a chat's parked reminders ring again, late ones by the policy for late ones."""
    c.execute(update(reminders).where(reminders.c.chat == chat, reminders.c.state == "parked").values(state="pending"))


def claimed(row: Row[Any]) -> Claimed:
    """Return a row as a reminder in hand."""
    return Claimed(row.id, row.chat, row.batch or None, ring_of(row), row.again, row.failures)


def ring_of(row: Row[Any]) -> Ring:
    """Return the reminder kept in a row."""
    return Ring(
        key=row.key,
        due=row.due,
        what=row.what,
        stage=row.stage,
        lot=row.lot,
        protects=row.protects,
        useful_until=row.useful_until,
        data=row.data,
    )


def _row(chat: str, batch: int, ring: Ring) -> dict[str, Any]:
    return {"chat": chat, "batch": batch, "key": ring.key, "call_at": ring.due, **_ring_values(ring)}


def _ring_values(ring: Ring) -> dict[str, Any]:
    return {
        "due": ring.due,
        "what": ring.what,
        "stage": ring.stage,
        "lot": ring.lot,
        "protects": ring.protects,
        "useful_until": ring.useful_until,
        "data": ring.data,
    }


@cache
def _claim_due(protects: bool) -> Any:
    wanted = (
        select(reminders.c.id)
        .where(_free(protects), reminders.c.call_at <= bindparam("now"))
        .order_by(reminders.c.call_at, reminders.c.id)
        .limit(bindparam("most", type_=Integer))
        .with_for_update(skip_locked=True)
        .cte("wanted")
    )
    held = update(reminders).where(reminders.c.id.in_(select(wanted.c.id)))
    return held.values(worker=bindparam("by")).returning(*reminders.c)


@cache
def _earliest(protects: bool) -> Any:
    return select(func.min(reminders.c.call_at)).where(_free(protects))


def _free(protects: bool) -> Any:
    return and_(
        reminders.c.protects == (true() if protects else ~true()),
        is_pending,
        reminders.c.worker.is_(None),
    )
