"""Lanes: a chat's queue in one direction, held by one worker at a time.

Whoever holds a lane handles what stands in it in order; other lanes go on beside it. Rates and
retries belong to a lane, so a noisy chat holds up nobody else.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import ColumnElement, Connection, case, delete, func, literal, or_, select, update

from scheduler.columns import Instant
from scheduler.dialects import upsert
from scheduler.tables import is_free, lanes

Way = Literal["in", "out"]

#: No lane waits longer than this: a moment further ahead is of a clock that has been set back since.
LONGEST_WAIT = timedelta(hours=1)


@dataclass(frozen=True)
class Lane:
    """A lane as its holder found it. ``next_slot`` is where its rate stands."""

    chat: str
    next_slot: datetime | None


def knock(c: Connection, chat: str, way: Way, now: datetime, *, urgent: bool = False) -> None:
    """Say that something stands in a lane. Keeps its turn and its waiting time where it has them."""
    insert = upsert(c)(lanes).values(chat=chat, way=way, waiting=True, urgent=urgent, since=now)
    c.execute(
        insert.on_conflict_do_update(
            index_elements=[lanes.c.chat, lanes.c.way],
            set_={
                "waiting": True,
                "urgent": or_(lanes.c.urgent, insert.excluded.urgent),
                "since": case((lanes.c.waiting, lanes.c.since), else_=insert.excluded.since),
            },
        )
    )


def claim(c: Connection, way: Way, worker: str, now: datetime, limit: int) -> list[Lane]:
    """Take up to ``limit`` lanes that nobody holds: urgent ones first, then by how long they wait."""
    wanted = (
        select(lanes.c.chat)
        .where(_free(way), _rested(now))
        .order_by(lanes.c.urgent.desc(), lanes.c.since, lanes.c.chat)
        .limit(limit)
        .with_for_update(skip_locked=True)
        .cte("wanted")
    )
    rows = c.execute(
        update(lanes)
        .where(lanes.c.way == way, lanes.c.chat.in_(select(wanted.c.chat)))
        .values(worker=worker)
        .returning(lanes.c.chat, lanes.c.next_slot, lanes.c.urgent, lanes.c.since)
    ).all()
    return [Lane(r.chat, r.next_slot) for r in sorted(rows, key=lambda r: (not r.urgent, r.since, r.chat))]


def next_claim_at(c: Connection, way: Way, now: datetime) -> datetime | None:
    """Return when the next free lane may be taken (``now`` or later), or None where nothing waits."""
    wait = case((_rested(now), literal(now, Instant)), else_=lanes.c.not_before)
    earliest: datetime | None = c.execute(select(func.min(wait)).where(_free(way))).scalar_one()
    return earliest


def hold(c: Connection, chat: str, way: Way, worker: str) -> bool:
    """Lock a lane for the rest of the transaction; False where ``worker`` does not hold it any more."""
    return (
        c.execute(
            select(lanes.c.chat)
            .where(lanes.c.chat == chat, lanes.c.way == way, lanes.c.worker == worker)
            .with_for_update()
        ).first()
        is not None
    )


def release(
    c: Connection,
    chat: str,
    way: Way,
    now: datetime,
    *,
    waiting: bool,
    urgent: bool = False,
    not_before: datetime | None = None,
    next_slot: datetime | None = None,
) -> None:
    """Let a held lane go. Call :func:`hold` first, then look what stands in it, then this."""
    values: dict[str, object] = {"worker": None, "waiting": waiting, "urgent": urgent, "since": now}
    values["not_before"] = None if not_before is None else min(not_before, now + LONGEST_WAIT)
    if next_slot is not None:
        values["next_slot"] = next_slot
    c.execute(update(lanes).where(lanes.c.chat == chat, lanes.c.way == way).values(values))


def free_strays(c: Connection, way: Way, worker: str, in_hand: Collection[str]) -> int:
    """Let go what ``worker`` holds without knowing it, after a claim whose reply was lost."""
    return c.execute(
        update(lanes)
        .where(lanes.c.way == way, lanes.c.worker == worker, lanes.c.chat.not_in(in_hand))
        .values(worker=None)
    ).rowcount


def mend_turns(c: Connection, now: datetime) -> None:
    """Give lanes that wait since a moment to come (by a clock that was set back since) their turn."""
    c.execute(update(lanes).where(is_free, lanes.c.since > now).values(since=now))


def drop_idle(c: Connection, chat: str) -> None:
    """Delete a chat's lanes in which nothing stands: for chats of which nothing is kept."""
    c.execute(delete(lanes).where(lanes.c.chat == chat, ~lanes.c.waiting, lanes.c.worker.is_(None)))


def _free(way: Way) -> ColumnElement[bool]:
    return (lanes.c.way == way) & is_free


def _rested(now: datetime) -> ColumnElement[bool]:
    return or_(
        lanes.c.not_before.is_(None),
        lanes.c.not_before <= now,
        lanes.c.not_before > now + LONGEST_WAIT,
    )
