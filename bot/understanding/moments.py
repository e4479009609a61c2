"""Decide which moment a time expression means, from its direction, the stage and what is possible."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from bot.understanding.when import When

#: The usual hour of a part of the day where no hour was said.
USUAL = {
    "morning": (8, 0), "early": (7, 0), "dawn": (6, 0), "breakfast": (8, 0), "brunch": (11, 0), "noon": (12, 0),
    "afternoon": (15, 0), "evening": (18, 0), "dinner": (18, 0), "dusk": (20, 0), "night": (20, 0),
    "bedtime": (22, 0), "midnight": (0, 0), "small_hours": (3, 0),
}  # fmt: skip
#: Until this hour of the night people may still call the coming day tomorrow.
_NIGHT_ENDS = 4
_AM_PARTS = frozenset({"morning", "early", "dawn", "breakfast", "small_hours"})
_PM_PARTS = frozenset({"afternoon", "evening", "dinner", "dusk", "bedtime"})


@dataclass(frozen=True)
class Found:
    """The moments that an expression can mean, the likeliest first; ``sure`` if only one makes sense."""

    moments: tuple[datetime, ...]
    sure: bool = True
    problem: str = ""  #: ``future`` or ``before`` where it cannot be true


@dataclass(frozen=True)
class Frame:
    """Where a moment may lie: ``past`` or ``future`` of ``now``; not before ``floor``; sensible up to ``reach_h``."""

    now: datetime
    zone: ZoneInfo
    direction: str
    floor: datetime | None = None
    reach_h: float = 30.0
    least_h: float = 0.0
    waking: bool = False


def resolve(when: When, frame: Frame) -> Found:
    """Return the moment(s) meant by ``when``; aware, in the frame's zone."""
    if when.now:
        return Found((_local(frame.now, frame.zone),))
    if when.span_s is not None:
        moment = frame.now.astimezone(UTC) + timedelta(seconds=when.span_s)
        return _bounded([_local(moment, frame.zone)], when, frame)
    if when.day == 1 and frame.direction == "future" and _local(frame.now, frame.zone).hour < _NIGHT_ENDS:
        return _either_day(when, frame)
    return _bounded(_candidates(when, frame), when, frame)


def _either_day(when: When, frame: Frame) -> Found:
    """Return both days that "tomorrow" can be after midnight: the coming one, and that of the calendar."""
    both = [_bounded(_candidates(replace(when, day=day), frame), when, frame).moments[:1] for day in (0, 1)]
    return Found(tuple(moment for found in both for moment in found), False)


def _local(moment: datetime, zone: ZoneInfo) -> datetime:
    return moment.astimezone(UTC).astimezone(zone)


def _at(day: date, hour: int, minute: int, zone: ZoneInfo) -> datetime:
    """Return that wall time; one that the clock skips moves on by the gap."""
    wall = datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone)
    return _local(wall, zone)


def _hours(when: When) -> list[tuple[int, int, int]]:
    """Return the (hour, minute, extra days) that were said, more than one where am or pm is open."""
    if when.hour is None:
        hour, minute = USUAL.get(when.part, (12, 0))
        return [(hour, minute, 1 if when.part == "midnight" else 0)]
    hour, minute = when.hour, when.minute
    if when.meridiem == "24" or hour > 12 or hour == 0:
        return [(hour % 24, minute, 0)]
    morning, evening = hour % 12, hour % 12 + 12
    if when.meridiem:
        return [(morning if when.meridiem == "am" else evening, minute, 0)]
    if when.part in _AM_PARTS:
        return [(morning, minute, 0)]
    if when.part == "noon":
        return [(12 if hour == 12 else evening if hour < 4 else morning, minute, 0)]
    if when.part in _PM_PARTS:
        return [(evening, minute, 0)]
    if when.part in {"night", "midnight"}:
        return [(evening, minute, 0)] if 5 <= hour < 12 else [(morning, minute, 1)]
    return [(morning, minute, 0), (evening, minute, 0)]


def _days(when: When, frame: Frame) -> list[date]:
    today = _local(frame.now, frame.zone).date()
    if when.day is not None:
        return [today + timedelta(days=_day_offset(when, frame))]
    if when.weekday is not None:
        ahead = (when.weekday - today.weekday()) % 7
        if frame.direction == "past":
            back = (today.weekday() - when.weekday) % 7
            return [today - timedelta(days=back)] if back else [today, today - timedelta(days=7)]
        if when.week == 1 and ahead <= 2:
            ahead += 7
        return [today + timedelta(days=ahead)] if ahead else [today, today + timedelta(days=7)]
    if when.date is not None:
        return _dated(when.date, today, frame.direction)
    return [today + timedelta(days=n) for n in (-2, -1, 0, 1, 2)]


def _day_offset(when: When, frame: Frame) -> int:
    """Return days from today's date; the night goes on after midnight."""
    offset = when.day or 0
    small_hours = _local(frame.now, frame.zone).hour < 5
    if small_hours and offset == 0 and when.part in {"night", "evening"} and frame.direction == "past":
        return -1
    return offset


def _dated(month_day: tuple[int, int], today: date, direction: str) -> list[date]:
    if not month_day[0]:
        return _day_of_month(month_day[1], today, direction)
    found = []
    for year in (today.year - 1, today.year, today.year + 1):
        try:
            found.append(date(year, *month_day))
        except ValueError:
            continue
    wanted = [d for d in found if (d <= today if direction == "past" else d >= today)]
    return (wanted[-1:] if direction == "past" else wanted[:1]) or found[:1]


def _day_of_month(day: int, today: date, direction: str) -> list[date]:
    """Return the nearest such day of a month, before or after today."""
    step = -1 if direction == "past" else 1
    days = (today + timedelta(days=step * n) for n in range(62))
    return [next(d for d in days if d.day == day)]


def _candidates(when: When, frame: Frame) -> list[datetime]:
    extra_on_day = when.day is not None or when.weekday is not None or when.date is not None
    moments = []
    for day in _days(when, frame):
        for hour, minute, later in _hours(when):
            shift = later if extra_on_day or when.part == "midnight" else 0
            if when.part == "night" and when.hour is not None and when.day == 0 and later:
                shift = 1 if _local(frame.now, frame.zone).hour >= 5 and frame.direction != "past" else 0
            moments.append(_at(day + timedelta(days=shift), hour, minute, frame.zone))
    return moments


def _bounded(candidates: list[datetime], when: When, frame: Frame) -> Found:
    now = frame.now
    slack = timedelta(minutes=10)
    if frame.direction == "past":
        fits = [m for m in candidates if m <= now + slack]
        fits.sort(reverse=True)
        possible = [m for m in fits if frame.floor is None or m >= frame.floor - slack]
        if not possible:
            return Found((), False, "before" if fits else "future")
        return _nearest(possible, when, frame)
    fits = sorted(m for m in candidates if m >= now - slack)
    possible = [m for m in fits if m >= now + timedelta(hours=frame.least_h) - slack] or fits
    if frame.floor is not None:
        possible = [m for m in possible if m >= frame.floor] or possible
    if not possible:
        return Found((), False, "past")
    return _nearest(possible, when, frame)


def _nearest(possible: list[datetime], when: When, frame: Frame) -> Found:
    """Take the nearest moment, unless a second one is as sensible."""
    first = possible[0]
    open_hour = when.hour is not None and len(_hours(when)) > 1
    if not open_hour or len(possible) == 1:
        return Found((first,))
    second = possible[1]
    dated = when.day is not None or when.weekday is not None or when.date is not None
    if dated and second.date() != first.date():
        return Found((first,))
    if _absurd(first, frame):
        return Found((second,))
    if _absurd(second, frame):
        return Found((first,))
    return _weighed(first, second, frame, dated)


def _absurd(moment: datetime, frame: Frame) -> bool:
    """True for the small hours as an hour of eating: "ready sunday at 3" is the afternoon."""
    return frame.waking and moment.hour < 6


def _weighed(first: datetime, second: datetime, frame: Frame, dated: bool) -> Found:
    """Take the nearer of two moments where the farther makes no sense, or where it is near and the farther is not."""
    near_h = abs((first - frame.now).total_seconds()) / 3600
    far_h = abs((second - frame.now).total_seconds()) / 3600
    if far_h > frame.reach_h and not (dated and frame.direction == "past"):
        return Found((first,))
    if frame.direction == "past" and near_h <= 4:
        return Found((first,))
    before_noon = _local(frame.now, frame.zone).hour in range(4, 12) and first.hour <= 12
    if frame.direction == "future" and before_noon and near_h <= 4:
        return Found((first,))  # nothing lies over night here
    return Found((first, second), False)


def iso(moment: datetime) -> str:
    """Return a moment as the contract writes it."""
    return moment.isoformat(timespec="seconds")
