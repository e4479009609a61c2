"""The durable inbox: stored before it is acknowledged, handled once, in order within a chat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import Connection, bindparam, delete, exists, select, update

from scheduler import lanes
from scheduler.arrivals import Arrival, Cursor, arrival_of, body_of
from scheduler.dialects import upsert
from scheduler.forgetting import back
from scheduler.presses import look_up
from scheduler.tables import cursors, inbox, is_new
from scheduler.turn import Inbound

#: After so many deaths of a process with it in hand a message is handled alone, so that no other is
#: blamed for what it does, nor it for a power that fails.
SUSPECT = 3
#: A process that dies this often with the same message in hand, in the end alone, was killed by it.
DEATHS = 6


@dataclass(frozen=True)
class Waiting:
    """A message in hand: its lane is held until it is committed, put back or set aside."""

    id: int
    inbound: Inbound
    failures: int
    deaths: int

    @property
    def suspect(self) -> bool:
        """True where it may be what killed the processes that had it in hand."""
        return self.deaths >= SUSPECT


def take_in(c: Connection, arrivals: Sequence[Arrival], cursor: Cursor | None, now: datetime) -> int:
    """Store what came in, and how far the stream was read. Returns how many were new."""
    dialect = c.dialect.name
    new = 0
    for arrival in arrivals:
        chat, key = arrival.inbound.chat, arrival.inbound.key
        row = {"key": key, "chat": chat, "body": body_of(arrival), "received_at": now}
        if c.execute(_insert(dialect), row).first() is not None:
            new += 1
            lanes.knock(c, chat, "in", now)
            back(c, chat)
    if cursor is not None:
        c.execute(_put_cursor(dialect), {"source": cursor.source, "value": cursor.value})
    return new


def read_cursor(c: Connection, source: str) -> str | None:
    """Return how far ``source`` was read, or None where it never was."""
    return c.execute(select(cursors.c.value).where(cursors.c.source == source)).scalar_one_or_none()


def claim(c: Connection, worker: str, now: datetime, limit: int) -> list[Waiting]:
    """Take the first message of up to ``limit`` chats that nobody is handling."""
    taken = []
    for lane in lanes.claim(c, "in", worker, now, limit):
        head = c.execute(_head(), {"chat": lane.chat}).first()
        if head is None:
            lanes.release(c, lane.chat, "in", now, waiting=False)
            continue
        c.execute(_died(), {"of_id": head.id})
        arrival = arrival_of(head.key, head.chat, head.body)
        press = None if arrival.tap is None else look_up(c, head.chat, arrival.tap)
        inbound = replace(arrival.inbound, press=press)
        taken.append(Waiting(head.id, inbound, head.failures, head.deaths))
    return taken


def begin_alone(c: Connection, item: Waiting) -> None:
    """Note before a suspect message is handled alone that it was: unless it is handled, it killed."""
    c.execute(update(inbox).where(inbox.c.id == item.id).values(deaths=item.deaths + 1))


def still_held(c: Connection, item: Waiting, worker: str) -> bool:
    """Lock the item's lane; False where it is not this worker's to finish any more."""
    return (
        lanes.hold(c, item.inbound.chat, "in", worker)
        and c.execute(select(inbox.c.id).where(inbox.c.id == item.id, is_new)).first() is not None
    )


def finish(c: Connection, item: Waiting, now: datetime, *, keep_chat: bool = True) -> None:
    """Mark a held message as dealt with. Its words go: what is to stay stands in the journal."""
    values: dict[str, object] = {"state": "done", "body": None}
    if not keep_chat:
        values["chat"] = ""
    c.execute(update(inbox).where(inbox.c.id == item.id).values(values))
    _let_go(c, item.inbound.chat, now)
    if not keep_chat:
        lanes.drop_idle(c, item.inbound.chat)


def put_back(c: Connection, item: Waiting, trace: str, now: datetime, not_before: datetime) -> None:
    """Let a held message stand, to be tried again at ``not_before``."""
    c.execute(
        update(inbox).where(inbox.c.id == item.id).values(failures=item.failures + 1, deaths=item.deaths, trace=trace)
    )
    _let_go(c, item.inbound.chat, now, not_before)


def set_aside(c: Connection, item: Waiting, trace: str, now: datetime) -> None:
    """Take a held message that cannot be handled out of the way, with its trace."""
    c.execute(update(inbox).where(inbox.c.id == item.id).values(state="aside", trace=trace))
    _let_go(c, item.inbound.chat, now)


def sweep(c: Connection, before: datetime) -> int:
    """Forget the keys of messages dealt with before ``before``, long after any messenger repeats one."""
    return c.execute(delete(inbox).where(inbox.c.received_at < before, inbox.c.state == "done")).rowcount


def _let_go(c: Connection, chat: str, now: datetime, not_before: datetime | None = None) -> None:
    more = c.execute(select(exists().where(inbox.c.chat == chat, is_new))).scalar_one()
    lanes.release(c, chat, "in", now, waiting=more, not_before=not_before)


@cache
def _insert(dialect: str) -> Any:
    insert = upsert(dialect)(inbox)
    return insert.on_conflict_do_nothing(index_elements=[inbox.c.key]).returning(inbox.c.id)


@cache
def _put_cursor(dialect: str) -> Any:
    put = upsert(dialect)(cursors)
    return put.on_conflict_do_update(index_elements=[cursors.c.source], set_={"value": put.excluded.value})


@cache
def _head() -> Any:
    standing = (inbox.c.chat == bindparam("chat")) & is_new
    return select(inbox).where(standing).order_by(inbox.c.id).limit(1)


@cache
def _died() -> Any:
    of = (inbox.c.id == bindparam("of_id")) & (inbox.c.deaths < SUSPECT)
    return update(inbox).where(of).values(deaths=inbox.c.deaths + 1)
