"""Clocks: the machine's, and one for replay and tests that moves only when told.

Everything that asks for the time is handed a clock; nothing below reads the machine's by itself.
"""

from __future__ import annotations

import asyncio
import heapq
import itertools
from datetime import UTC, datetime, timedelta
from typing import Protocol

#: The machine's clock is read again at least this often while waiting: the loop's timers stand still
#: while a laptop is suspended, and the wall clock can be set.
REREAD_S = 30.0

#: Turns of the event loop that a moved :class:`FakeClock` leaves to whoever it woke.
SETTLE_TURNS = 20


class Clock(Protocol):
    """What the time is, and how to wait for a moment."""

    def now(self) -> datetime:
        """Return the moment, aware, in UTC."""

    async def sleep_until(self, moment: datetime) -> None:
        """Return once ``now()`` is at or after ``moment``."""


class SystemClock:
    """The machine's wall clock."""

    def now(self) -> datetime:
        """Return the machine's time, aware, in UTC."""
        return datetime.now(UTC)

    async def sleep_until(self, moment: datetime) -> None:
        """Wait for ``moment`` by the wall clock, through suspends and clock steps."""
        while (left_s := (moment - self.now()).total_seconds()) > 0:  # noqa: ASYNC110
            await asyncio.sleep(min(left_s, REREAD_S))


class FakeClock:
    """A clock that stands still until it is moved. Never goes back."""

    def __init__(self, start: datetime) -> None:
        self._now = start.astimezone(UTC)
        self._waiting: list[tuple[datetime, int, asyncio.Future[None]]] = []
        self._count = itertools.count()

    def now(self) -> datetime:
        """Return the moment it was last set to, aware, in UTC."""
        return self._now

    async def sleep_until(self, moment: datetime) -> None:
        """Wait until the clock has been moved to ``moment`` or past it."""
        if moment <= self._now:
            return
        future: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        heapq.heappush(self._waiting, (moment.astimezone(UTC), next(self._count), future))
        await future

    def set(self, moment: datetime) -> None:
        """Move to ``moment`` at once, waking nobody. Raises ValueError where that would be back."""
        if moment < self._now:
            raise ValueError(f"the clock stands at {self._now.isoformat()} and cannot go back to {moment}")
        self._now = moment.astimezone(UTC)

    async def advance_to(self, moment: datetime) -> None:
        """Move to ``moment``, stopping at each sleeper's moment on the way, in order, to let it act."""
        while self._waiting and self._waiting[0][0] <= moment:
            due, _, future = heapq.heappop(self._waiting)
            self.set(max(due, self._now))
            if not future.done():
                future.set_result(None)
            await _settle()
        self.set(moment)
        await _settle()

    async def advance(self, span: timedelta) -> None:
        """Move on by ``span``; see :meth:`advance_to`."""
        await self.advance_to(self._now + span)


async def _settle() -> None:
    """Let the woken run before time moves on: else what they do next would be late by the next step."""
    for _ in range(SETTLE_TURNS):
        await asyncio.sleep(0)
