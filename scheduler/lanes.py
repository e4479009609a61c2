"""Lanes: a chat's queue in one direction, held by one worker at a time.

Whoever holds a lane handles what stands in it in order; other lanes go on beside it. Rates and
retries belong to a lane, so a noisy chat holds up nobody else.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Any, Literal

from sqlalchemy import ColumnElement, Connection, Integer, bindparam, case, delete, func, or_, select, update

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
    values = {"chat": chat, "way": way, "waiting": True, "urgent": urgent, "since": now}
    c.execute(_knock(c.dialect.name), values)


def claim(c: Connection, way: Way, worker: str, now: datetime, limit: int) -> list[Lane]:
    """Take up to ``limit`` lanes that nobody holds: urgent ones first, then by how long they wait."""
    asked = {"of_way": way, "by": worker, "now": now, "ahead": now + LONGEST_WAIT, "most": limit}
    rows = c.execute(_claim(), asked).all()
    return [Lane(r.chat, r.next_slot) for r in sorted(rows, key=lambda r: (not r.urgent, r.since, r.chat))]


def next_claim_at(c: Connection, way: Way, now: datetime) -> datetime | None:
    """Return when the next free lane may be taken (``now`` or later), or None where nothing waits."""
    asked = {"of_way": way, "now": now, "ahead": now + LONGEST_WAIT}
    earliest: datetime | None = c.execute(_next_claim_at(), asked).scalar_one()
    return earliest


def hold(c: Connection, chat: str, way: Way, worker: str) -> bool:
    """Lock a lane for the rest of the transaction; False where ``worker`` does not hold it any more."""
    return c.execute(_hold(), {"chat": chat, "way": way, "worker": worker}).first() is not None


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
    """Let a held lane go. Call :func:`hold` first, then look what stands in it, then this.

    Without a ``next_slot`` the lane's rate stays where it stands.
    """
    values = {
        "of_chat": chat,
        "of_way": way,
        "waiting": waiting,
        "urgent": urgent,
        "since": now,
        "not_before": None if not_before is None else min(not_before, now + LONGEST_WAIT),
        "slot": next_slot,
    }
    c.execute(_release(), values)


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


# Built once: to put a statement together takes longer than to run it.


@cache
def _knock(dialect: str) -> Any:
    insert = upsert(dialect)(lanes)
    return insert.on_conflict_do_update(
        index_elements=[lanes.c.chat, lanes.c.way],
        set_={
            "waiting": True,
            "urgent": or_(lanes.c.urgent, insert.excluded.urgent),
            "since": case((lanes.c.waiting, lanes.c.since), else_=insert.excluded.since),
        },
    )


@cache
def _claim() -> Any:
    wanted = (
        select(lanes.c.chat)
        .where(_free(), _rested())
        .order_by(lanes.c.urgent.desc(), lanes.c.since, lanes.c.chat)
        .limit(bindparam("most", type_=Integer))
        .with_for_update(skip_locked=True)
        .cte("wanted")
    )
    return (
        update(lanes)
        .where(lanes.c.way == bindparam("of_way"), lanes.c.chat.in_(select(wanted.c.chat)))
        .values(worker=bindparam("by"))
        .returning(lanes.c.chat, lanes.c.next_slot, lanes.c.urgent, lanes.c.since)
    )


@cache
def _next_claim_at() -> Any:
    wait = case((_rested(), bindparam("now", type_=Instant)), else_=lanes.c.not_before)
    return select(func.min(wait)).where(_free())


@cache
def _hold() -> Any:
    return (
        select(lanes.c.chat)
        .where(
            lanes.c.chat == bindparam("chat"),
            lanes.c.way == bindparam("way"),
            lanes.c.worker == bindparam("worker"),
        )
        .with_for_update()
    )


@cache
def _release() -> Any:
    slot = func.coalesce(bindparam("slot", type_=Instant), lanes.c.next_slot)
    columns = ("waiting", "urgent", "since", "not_before")
    return (
        update(lanes)
        .where(lanes.c.chat == bindparam("of_chat"), lanes.c.way == bindparam("of_way"))
        .values(worker=None, next_slot=slot, **{name: bindparam(name) for name in columns})
    )


def _free() -> ColumnElement[bool]:
    return (lanes.c.way == bindparam("of_way")) & is_free


def _rested() -> ColumnElement[bool]:
    return or_(
        lanes.c.not_before.is_(None),
        lanes.c.not_before <= bindparam("now"),
        lanes.c.not_before > bindparam("ahead"),
    )
