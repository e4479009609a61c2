"""The wake-up: APScheduler holds the next due moment and the periodic sweeps, and nothing else.

What is due stands in the database; an alarm that is lost, late or doubled costs a look, no reminder.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from datetime import datetime, timedelta

from apscheduler.schedulers.asyncio import AsyncIOScheduler
from apscheduler.triggers.date import DateTrigger
from apscheduler.triggers.interval import IntervalTrigger


class Alarm:
    """Calls ``wake`` at one moment, and other functions at intervals."""

    def __init__(self, wake: Callable[[], None]) -> None:
        self._wake = wake
        self._scheduler = AsyncIOScheduler(timezone="UTC", job_defaults={"misfire_grace_time": None, "coalesce": True})

    def start(self) -> None:
        """Begin. Needs a running event loop."""
        self._scheduler.start()

    def stop(self) -> None:
        """Call nothing more."""
        self._scheduler.shutdown(wait=False)

    def at(self, moment: datetime | None) -> None:
        """Wake at ``moment`` (and not at one set before), or not at all."""
        if moment is None:
            if self._scheduler.get_job("due"):
                self._scheduler.remove_job("due")
            return
        self._scheduler.add_job(self._ring, DateTrigger(moment), id="due", replace_existing=True)

    def every(self, span: timedelta, call: Callable[[], Awaitable[None]]) -> None:
        """Call ``call`` at intervals of ``span``."""
        self._scheduler.add_job(call, IntervalTrigger(seconds=span.total_seconds()))

    async def _ring(self) -> None:
        self._wake()
