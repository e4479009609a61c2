"""The moments of a written conversation: ``17:52``, ``Sat 06:30``, ``Fri 2026-09-11 17:40``."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from bot.doors.wanted import WEEKDAYS

WHEN = re.compile(rf"(?:({'|'.join(WEEKDAYS)})[a-z]*\s+)?(?:(\d{{4}}-\d\d-\d\d)\s+)?(\d?\d):(\d\d)")


def next_moment(when: re.Match[str], now: datetime | None, zone: ZoneInfo) -> datetime:
    """The first moment from ``now`` on that a match of :data:`WHEN` can mean, UTC.

    The first moment of a conversation (``now`` is None) needs its date. Raises ValueError.
    """
    weekday, _, hour, minute = when.groups()
    for day in _days(when, now, zone):
        if weekday is not None and WEEKDAYS[day.weekday()] != weekday:
            continue
        for moment in _moments(day, int(hour), int(minute), zone):
            if now is None or moment >= now:
                return moment
    raise ValueError(f"{when[0]!r} lies before the moment above it, or its weekday is not of that date")


def _days(when: re.Match[str], now: datetime | None, zone: ZoneInfo) -> list[date]:
    """The days on which it may be: the one written, else today and a week ahead."""
    if when[2] is not None:
        return [date.fromisoformat(when[2])]
    if now is None:
        raise ValueError(f"the first moment needs its date, for example 'Fri 2026-09-11 {when[3]}:{when[4]}'")
    today = now.astimezone(zone).date()
    return [today + timedelta(days=ahead) for ahead in range(9)]


def _moments(day: date, hour: int, minute: int, zone: ZoneInfo) -> Iterator[datetime]:
    """One moment; two where a clock goes back; none where it jumps over that time."""
    if hour > 23 or minute > 59:
        raise ValueError(f"{hour}:{minute:02d} is no time of day")
    found = set()
    for fold in (0, 1):
        local = datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone, fold=fold)
        moment = local.astimezone(UTC)
        if moment.astimezone(zone).replace(tzinfo=None) == local.replace(tzinfo=None):
            found.add(moment)
    yield from sorted(found)
