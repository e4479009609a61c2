"""A time axis in the chat's zone: hours from its start, ticks on the local clock, nights and days."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from bot.pictures.habits import Habit, local, tick_clock, weekday
from bot.pictures.look import BODY, HAIR, INK, NIGHT, SOFT, font, label_ticks, width_of

QUARTER = timedelta(minutes=15)
STEPS_MIN = (15, 30, 60, 120, 180, 240, 360, 720, 1440)


@dataclass(frozen=True)
class TimeSpan:
    """From ``start`` to ``end`` (aware), to be drawn over ``room`` pixels."""

    start: datetime
    end: datetime
    room: float
    habit: Habit

    @property
    def hours(self) -> float:
        """Length in hours."""
        return self.x(self.end)

    def x(self, at: datetime) -> float:
        """Hours from the start, the axis' coordinate."""
        return (at - self.start) / timedelta(hours=1)

    def pixels(self, at: datetime) -> float:
        """Pixels from the left end."""
        return self.x(at) / self.hours * self.room


def span(moments: list[datetime], room: float, habit: Habit, least: timedelta = timedelta(hours=1)) -> TimeSpan:
    """The span that holds all ``moments`` with a little air at both ends, at least ``least`` long."""
    start, end = min(moments), max(moments)
    if end - start < least:
        end = start + least
    air = (end - start) * 0.03
    return TimeSpan(start - air, end + air, room, habit)


def ticks(over: TimeSpan) -> list[tuple[float, str]]:
    """Places and words on round local times, as many as fit without touching."""
    step = next((s for s in STEPS_MIN if over.hours * 60 / s * _widest(s, over.habit) <= over.room), STEPS_MIN[-1])
    half = _widest(step, over.habit) / 2 / over.room * over.hours
    air = half * 0.4  # the page's margin takes a little of a word that stands at the very end
    return [
        (over.x(at), tick_clock(at, over.habit))
        for at in _round_times(over, step)
        if half - air <= over.x(at) <= over.hours - half + air
    ]


def _widest(step_min: int, habit: Habit) -> float:
    """Room for one tick's word at this step, with the distance to the next."""
    if habit.units == "metric":
        return width_of("00:00") + BODY
    return width_of("12:30 pm" if step_min < 60 else "11 am") + BODY


def _round_times(over: TimeSpan, step_min: int) -> Iterator[datetime]:
    """Local times that divide by the step, whatever the zone's offset and however it shifts."""
    at = over.start.replace(minute=0, second=0, microsecond=0)
    while at <= over.end:
        here = local(at, over.habit)
        if at >= over.start and (here.hour * 60 + here.minute) % step_min == 0:
            yield at
        at += QUARTER


def _dates(over: TimeSpan) -> list[date]:
    first = local(over.start, over.habit).date() - timedelta(days=1)
    last = local(over.end, over.habit).date()
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def _on(day: date, clock: time, over: TimeSpan) -> datetime:
    zone = local(over.start, over.habit).tzinfo
    return datetime.combine(day, clock, zone).astimezone(over.start.tzinfo)


def _clipped(start: datetime, end: datetime, over: TimeSpan) -> tuple[float, float] | None:
    low, high = max(over.x(start), 0.0), min(over.x(end), over.hours)
    return (low, high) if low < high else None


def nights(over: TimeSpan) -> list[tuple[float, float]]:
    """The nights within the span, as axis coordinates."""
    begins, ends = over.habit.night
    found = []
    for day in _dates(over):
        morning = day if ends > begins else day + timedelta(days=1)
        part = _clipped(_on(day, begins, over), _on(morning, ends, over), over)
        if part:
            found.append(part)
    return found


def days(over: TimeSpan) -> list[tuple[str, float, float]]:
    """The local days within the span: name and where it lies."""
    found = []
    for day in _dates(over):
        noon = _on(day, time(12), over)
        part = _clipped(_on(day, time(0), over), _on(day + timedelta(days=1), time(0), over), over)
        if part:
            found.append((f"{weekday(noon, over.habit)} {day.day}", *part))
    return found


def draw_time(area: Any, over: TimeSpan, *, lines: bool = True) -> None:
    """Limits, night shading and ticks on ``area``; ``lines`` carry the ticks up through it."""
    area.set_xlim(0, over.hours)
    for start, end in nights(over):
        area.axvspan(start, end, color=NIGHT, lw=0, zorder=0)
    marks = ticks(over)
    label_ticks(area.xaxis, [x for x, _ in marks], [word for _, word in marks])
    for x, _ in marks:
        area.axvline(x, ymax=1 if lines else 0.015, color=HAIR if lines else SOFT, lw=0.8, zorder=0.5)


def draw_days(area: Any, over: TimeSpan) -> None:
    """Names of the days along the top of ``area``, where they fit, a hair line at each midnight."""
    for name, start, end in days(over):
        if (end - start) / over.hours * over.room > width_of(name) + 8:
            area.annotate(
                name, ((start + end) / 2, 1), xycoords=area.get_xaxis_transform(),
                xytext=(0, 7), textcoords="offset points",  # above the wedge of the present
                font=font(BODY), color=INK, ha="center", va="bottom", parse_math=False,
            )  # fmt: skip


def draw_now(area: Any, over: TimeSpan, now: datetime) -> None:
    """A line at the present, with a wedge on top."""
    if 0 <= over.x(now) <= over.hours:
        area.axvline(over.x(now), color=INK, lw=1.6, zorder=1.5)
        draw_now_wedge(area, over, now)


def draw_now_wedge(area: Any, over: TimeSpan, now: datetime) -> None:
    """The wedge that stands for the present, at the top of ``area``."""
    if 0 <= over.x(now) <= over.hours:
        area.plot(
            [over.x(now)], [1], marker="v", ms=9, color=INK, clip_on=False, zorder=7,
            transform=area.get_xaxis_transform(),
        )  # fmt: skip
