"""Who takes work: each worker's lease, renewed by a heartbeat, and what becomes of a dead one's work.

One lease covers everything that a worker has in hand. Whoever finds a lease that is over frees what
stood under it; the late worker's own commits then fail, for they check that the work is still theirs.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import BigInteger, ColumnElement, Connection, delete, func, insert, literal, select, update

from scheduler.dialects import server_now
from scheduler.lanes import mend_turns
from scheduler.tables import lanes, reminders, workers


def join(c: Connection, worker: str, name: str, lease: timedelta) -> None:
    """Enter a worker with a lease of its own."""
    c.execute(insert(workers).values(id=worker, alive_until=_end(lease), started_at=server_now(), name=name))


def beat(c: Connection, worker: str, lease: timedelta) -> bool:
    """Renew a worker's lease; False where it was over and has been taken."""
    renewed = update(workers).where(workers.c.id == worker).values(alive_until=_end(lease))
    return c.execute(renewed).rowcount == 1


def tend(c: Connection, worker: str, name: str, lease: timedelta, now: datetime) -> int:
    """Renew a worker's lease, or enter it anew, and free what dead ones held.

    Returns how many workers there are. ``now`` is by the worker's clock, which may have been set.
    """
    if not beat(c, worker, lease):
        join(c, worker, name, lease)
    bury(c)
    mend_turns(c, now)
    return count(c)


def bury(c: Connection) -> list[str]:
    """Take the leases that are over and free what stood under them. Returns whose they were."""
    dead = list(
        c.execute(delete(workers).where(workers.c.alive_until < server_now()).returning(workers.c.id)).scalars()
    )
    free(c, dead)
    return dead


def leave(c: Connection, worker: str) -> None:
    """Take a worker out and free what it had in hand."""
    c.execute(delete(workers).where(workers.c.id == worker))
    free(c, [worker])


def clear(c: Connection) -> None:
    """Free everything: for a database that only one process can have."""
    c.execute(delete(workers))
    for table in (lanes, reminders):
        c.execute(update(table).where(table.c.worker.is_not(None)).values(worker=None))


def free(c: Connection, dead: list[str]) -> None:
    """Free what these workers had in hand."""
    if dead:
        for table in (lanes, reminders):
            c.execute(update(table).where(table.c.worker.in_(dead)).values(worker=None))


def count(c: Connection) -> int:
    """Return how many workers are there."""
    return c.execute(select(func.count()).select_from(workers)).scalar_one()


def _end(lease: timedelta) -> ColumnElement[Any]:
    return server_now() + literal(lease // timedelta(microseconds=1), BigInteger)
