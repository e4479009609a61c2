"""The evening before a day: when people can be told what that day holds."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

from planner.habits import Habits

#: The hours at which people are told of tomorrow, the first that is not quiet: *ours*.
_HOURS = (20, 19, 18, 17, 21, 22)


def evening_before(day: date, habits: Habits) -> datetime | None:
    """The moment on the day before ``day`` at which to tell what ``day`` holds, in UTC; None where all is quiet."""
    for hour in _HOURS:
        at = datetime.combine(day - timedelta(days=1), time(hour), habits.tz).astimezone(UTC)
        if not habits.is_quiet(at):
            return at
    return None


def today(now: datetime, habits: Habits) -> date:
    """The date that it is where the people are."""
    return habits.local(now).date()
