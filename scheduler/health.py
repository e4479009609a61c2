"""What the store itself can tell about its health, for the doctor: found, not worded."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import Connection, func, select

from scheduler.clock import Clock
from scheduler.counting import Counts, counts
from scheduler.dialects import server_now
from scheduler.store import Store
from scheduler.tables import entries, inbox

#: A clock may be this far behind what was written last: several machines never agree quite.
BEHIND = timedelta(minutes=5)

What = Literal["aside", "late", "clock_behind", "clock_of_server"]


@dataclass(frozen=True)
class Trouble:
    """Something that somebody should look at.

    ``aside``: so many messages and reminders broke their handler. ``late``: so many reminders are
    past the grace and not rung (nothing runs, or it is overloaded). ``clock_behind``: the machine's
    clock is so many seconds behind what was written last. ``clock_of_server``: it is so many seconds
    off the database server's.
    """

    what: What
    much: float


async def troubles(store: Store, clock: Clock) -> list[Trouble]:
    """Return what is wrong, nothing where all is well. Needs a store that can be read."""
    now = clock.now()
    standing, newest, server = await store.look(_look, now)
    found = [
        Trouble("aside", standing.aside),
        Trouble("late", standing.late),
        Trouble("clock_behind", _beyond(newest - now) if newest else 0.0),
        Trouble("clock_of_server", max(_beyond(server - now), _beyond(now - server))),
    ]
    return [trouble for trouble in found if trouble.much > 0]


def _beyond(span: timedelta) -> float:
    return span.total_seconds() if span > BEHIND else 0.0


def _look(c: Connection, now: datetime) -> tuple[Counts, datetime | None, datetime]:
    told: datetime | None = c.execute(select(func.max(entries.c.told_at))).scalar_one()
    came: datetime | None = c.execute(select(func.max(inbox.c.received_at))).scalar_one()
    newest = max((moment for moment in (told, came) if moment is not None), default=None)
    return counts(c, now), newest, c.execute(select(server_now())).scalar_one()
