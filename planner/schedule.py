"""Lay the stages on the clock: forwards from a start or backwards from "ready by".

Stages that wait in the cold (soak, rest, chill) take up the slack; drying, smoking and cooling
follow each other without a pause and are kept out of quiet hours as far as that is possible. The
best of all starts on a quarter-hour grid is taken.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from planner.habits import Habits

STEP = timedelta(minutes=15)
HORIZON = timedelta(days=6)
#: Longest wait in the cold between rinse and rack: *ours*; salted raw fish is not stored.
LONGEST_REST = timedelta(hours=24)

# What the search pays, per hour unless said: being woken outweighs being late for a wish, that
# outweighs a soak off its best length, and that outweighs waiting.
_LATE = 40.0
_WOKEN_ONCE = 400.0
_WOKEN = 120.0
_OFF_TASTE = 30.0
_OFF_FREE = 1.0
_REST = 0.3
_FINISH = 0.1
_IMPOSSIBLE = 1e9
#: The soak of fish that is to be smoked at a wished hour begins this long before at the earliest: *ours*.
_BEFORE_SMOKE = timedelta(hours=48)
#: A soak shorter than this is laid out to the minute, not to the quarter hour.
_BY_THE_MINUTE = timedelta(hours=1)

_Index = npt.NDArray[np.int64]
_Cost = npt.NDArray[np.float64]


@dataclass(frozen=True)
class SoakLength:
    """How long the soak may be: best, shortest and longest.

    ``free`` is True where the brine's strength is still open and can be made to fit the length.
    """

    best: timedelta
    shortest: timedelta
    longest: timedelta
    free: bool = False


@dataclass(frozen=True)
class Task:
    """What is to be laid out. ``start``, ``pull`` and ``dry`` (onto the racks) are fixed where given.

    ``before`` is the work before the soak (thaw, trim), ``between`` the rinse, ``warm`` drying,
    smoking and cooling together, of which ``drying`` comes first, ``chill`` the least time in the cold
    before packing. ``smoke_at`` is when the fish is wanted in the smoke.
    """

    now: datetime
    soak: SoakLength
    warm: timedelta
    chill: timedelta
    before: timedelta = timedelta(0)
    between: timedelta = timedelta(minutes=15)
    start: datetime | None = None
    pull: datetime | None = None
    dry: datetime | None = None
    ready_by: datetime | None = None
    drying: timedelta = timedelta(0)
    smoke_at: datetime | None = None


@dataclass(frozen=True)
class Layout:
    """Chosen moments in UTC: into the brine, out of it, onto the racks; ``late`` past "ready by"."""

    start: datetime
    pull: datetime
    dry: datetime
    late: timedelta
    woken: timedelta


def lay_out(task: Task, habits: Habits) -> Layout:
    """The best layout of the stages that are still ahead (this project's own search)."""
    # A start that lies days ahead takes the horizon with it.
    grid = _Grid(max(task.now, task.start or _opening(task)), habits)
    starts = grid.at(task.start) if task.start else grid.after(task.now + task.before, task.ready_by or task.smoke_at)
    pulls = _pulls(task, grid, starts)
    if task.pull:
        pulls = grid.at(task.pull)
    drys = np.arange(grid.size)
    soaking = _soak_cost(task, grid, starts, pulls)
    # The start bears on nothing after the pull, so the best start of each pull is enough.
    cost = soaking.min(axis=0)[:, None] + _warm_cost(task, grid, pulls, drys)
    p, d = np.unravel_index(int(np.argmin(cost)), cost.shape)
    # What is chosen and was not told must not lie in the past.
    start = task.start or max(grid.moment(starts[int(np.argmin(soaking[:, p]))]), task.now)
    pull = task.pull or max(_to_the_minute(task, start, grid.moment(pulls[p])), task.now)
    dry = task.dry or max(grid.moment(drys[d]), pull + task.between, task.now)
    ready = dry + task.warm + task.chill
    late = max(ready - task.ready_by, timedelta(0)) if task.ready_by else timedelta(0)
    return Layout(start, pull, dry, late, grid.quiet_within(dry, dry + task.warm))


def _opening(task: Task) -> datetime:
    """When the soak may begin at the earliest: for a smoke days ahead, not now."""
    return task.now if task.smoke_at is None else task.smoke_at - _BEFORE_SMOKE


def _to_the_minute(task: Task, start: datetime, pull: datetime) -> datetime:
    """The pull of a short soak that the grid left near its best length."""
    best = task.soak.best
    if best >= _BY_THE_MINUTE or abs(pull - start - best) > STEP:
        return pull
    return start + timedelta(minutes=max(1, round(best / timedelta(minutes=1))))


def _pulls(task: Task, grid: _Grid, starts: _Index) -> _Index:
    # A soak that is overdue can be pulled now at the earliest.
    first = min(max(0, int(starts.min()) + int(task.soak.shortest / STEP)), grid.size - 1)
    last = int(starts.max()) + int(task.soak.longest / STEP) + 1
    return np.arange(first, min(max(last, first + 1), grid.size))


def _soak_cost(task: Task, grid: _Grid, starts: _Index, pulls: _Index) -> _Cost:
    hour = STEP / timedelta(hours=1)
    soak = (pulls[None, :] - starts[:, None]) * hour
    if task.pull is not None:
        return np.zeros_like(soak)
    best = task.soak.best / timedelta(hours=1)
    cost: _Cost = np.abs(soak - best) * (_OFF_FREE if task.soak.free else _OFF_TASTE / max(best, 1.0))
    low, high = (t / timedelta(hours=1) for t in (task.soak.shortest, task.soak.longest))
    cost = cost + np.where((soak < low - hour) | (soak > high + hour), _IMPOSSIBLE, 0.0)
    cost = cost + grid.quiet[pulls][None, :] * _WOKEN_ONCE
    if task.start is None:
        cost = cost + grid.quiet[starts][:, None] * _WOKEN_ONCE
    return cost


def _warm_cost(task: Task, grid: _Grid, pulls: _Index, drys: _Index) -> _Cost:
    hour = STEP / timedelta(hours=1)
    rest = (drys[None, :] - pulls[:, None]) * hour - task.between / timedelta(hours=1)
    wrong = (rest < 0.0) | (rest > LONGEST_REST / timedelta(hours=1))
    woken = grid.overlap(drys, int(np.ceil(task.warm / STEP))) * hour
    ready = drys * hour + (task.warm + task.chill) / timedelta(hours=1)
    cost = woken * _WOKEN + ready * _FINISH
    if task.ready_by is not None:
        by = (task.ready_by - grid.origin) / timedelta(hours=1)
        cost = cost + np.maximum(ready - by, 0.0) * _LATE
    if task.smoke_at is not None:
        wished = (task.smoke_at - task.drying - grid.origin) / timedelta(hours=1)
        cost = cost + np.abs(drys * hour - wished) * _LATE
    total: _Cost = np.where(wrong, _IMPOSSIBLE, np.maximum(rest, 0.0) * _REST) + cost[None, :]
    return total


@lru_cache(maxsize=32)
def _quiet_steps(origin: datetime, habits: Habits, count: int) -> _Cost:
    """1.0 for each quarter hour from ``origin`` on that is quiet: chats of one habit share it."""
    return np.array([habits.is_quiet(origin + i * STEP) for i in range(count)], dtype=float)


class _Grid:
    """Quarter hours from now on, and which of them are quiet."""

    def __init__(self, now: datetime, habits: Habits) -> None:
        # Whole quarter hours, so that a plan made a minute later is the same plan.
        now = now.astimezone(UTC)
        self.origin = now - timedelta(minutes=now.minute % 15, seconds=now.second, microseconds=now.microsecond)
        self.size = int(HORIZON / STEP)
        self.quiet = _quiet_steps(self.origin, habits, self.size * 2)
        self._sum = np.concatenate([[0.0], np.cumsum(self.quiet)])

    def moment(self, index: int) -> datetime:
        return self.origin + int(index) * STEP

    def at(self, moment: datetime) -> _Index:
        return np.array([round((moment - self.origin) / STEP)])

    def after(self, moment: datetime, until: datetime | None) -> _Index:
        first = max(0, int(np.ceil((moment - self.origin) / STEP)))
        span = timedelta(hours=60) if until else timedelta(0)
        return np.arange(first, min(first + int(span / STEP) + 1, self.size))

    def overlap(self, first: _Index, steps: int) -> _Cost:
        """Quiet steps within ``steps`` from each index on."""
        overlap: _Cost = self._sum[np.minimum(first + steps, len(self._sum) - 1)] - self._sum[first]
        return overlap

    def quiet_within(self, start: datetime, end: datetime) -> timedelta:
        first = np.clip(self.at(start), 0, len(self._sum) - 1)
        return float(self.overlap(first, max(0, round((end - start) / STEP)))[0]) * STEP
