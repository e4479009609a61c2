"""The habits of a chat that bear on a plan: its zone and its quiet hours."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo


@lru_cache(maxsize=256)
def _clocks(quiet: tuple[str, str]) -> tuple[time, time]:
    return time.fromisoformat(quiet[0]), time.fromisoformat(quiet[1])


@dataclass(frozen=True)
class Habits:
    """Where and when people want to be called. ``quiet`` is local clock times, from and till."""

    zone: str = "UTC"
    quiet: tuple[str, str] = ("22:30", "06:30")

    @property
    def tz(self) -> ZoneInfo:
        """The zone as an object."""
        return ZoneInfo(self.zone)

    def local(self, moment: datetime) -> datetime:
        """The moment on the clock of the zone."""
        return moment.astimezone(self.tz)

    def is_quiet(self, moment: datetime) -> bool:
        """True within quiet hours (their start counts, their end does not)."""
        start, end = _clocks(self.quiet)
        clock = self.local(moment).time().replace(tzinfo=None)
        if start <= end:
            return start <= clock < end
        return clock >= start or clock < end

    def quiet_end(self, moment: datetime) -> datetime:
        """The first moment from ``moment`` on that is not quiet, in UTC."""
        if not self.is_quiet(moment):
            return moment
        end = time.fromisoformat(self.quiet[1])
        local = self.local(moment)
        day = local.date()
        if datetime.combine(day, end, self.tz) <= local:
            day += timedelta(days=1)
        return datetime.combine(day, end, self.tz).astimezone(UTC)
