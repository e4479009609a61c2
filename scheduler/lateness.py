"""What becomes of reminders whose moment has passed: the whole policy, as one pure function.

Of the reminders of one batch that are due together:

- one that protects the food is always rung, by itself, however late;
- one whose use is over (``useful_until``) is dropped;
- of the others, those within the grace are rung each by itself;
- those later than the grace (the program was down, the machine asleep) are merged: the newest is rung,
  late, with the older ones named in ``Due.merged``.

Rung means rung with the facts of now; ``Due.late_s`` tells the talking layer how late it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.turn import Ring

#: Later than this, a reminder counts as late.
GRACE = timedelta(minutes=2)


@dataclass(frozen=True)
class Calling:
    """What to do with the due reminders of one batch, each named by its place in what was given.

    ``ring`` is in order: protecting ones first, then by due. ``merged`` are told with ``newest``.
    """

    ring: tuple[int, ...]
    drop: tuple[int, ...] = ()
    merged: tuple[int, ...] = ()
    newest: int | None = None


def call(rings: Sequence[Ring], now: datetime) -> Calling:
    """Decide over the reminders of one batch that are due at ``now`` (aware UTC)."""
    order = sorted(range(len(rings)), key=lambda i: (not rings[i].protects, rings[i].due))
    drop = [i for i in order if _over(rings[i], now)]
    late = [i for i in order if i not in drop and not rings[i].protects and now - rings[i].due > GRACE]
    merged = late[:-1]
    ring = [i for i in order if i not in drop and i not in merged]
    return Calling(tuple(ring), tuple(drop), tuple(merged), late[-1] if late else None)


def _over(ring: Ring, now: datetime) -> bool:
    return not ring.protects and ring.useful_until is not None and now > ring.useful_until
