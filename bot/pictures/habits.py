"""How a chat likes its times and units shown: values to short texts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from functools import cache
from typing import Literal
from zoneinfo import ZoneInfo

Units = Literal["us", "metric"]

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
GRAMS_PER_LB = 453.59237
MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Habit:
    """IANA zone, units, and the local hours that count as night."""

    zone: str
    units: Units = "metric"
    night: tuple[time, time] = (time(22), time(6))


@cache
def _zone(name: str) -> ZoneInfo:
    return ZoneInfo(name)


def local(at: datetime, habit: Habit) -> datetime:
    """The aware instant ``at`` on the chat's own clock."""
    return at.astimezone(_zone(habit.zone))


def clock(at: datetime, habit: Habit) -> str:
    """Time of day: ``18:40``, or ``6:40 pm`` where units are US."""
    here = local(at, habit)
    if habit.units == "metric":
        return f"{here:%H:%M}"
    return f"{here.hour % 12 or 12}:{here.minute:02d} {'am' if here.hour < 12 else 'pm'}"


def tick_clock(at: datetime, habit: Habit) -> str:
    """Time of day for an axis, as short as it stays clear: ``18:00``, ``6 pm`` or ``noon``."""
    words = clock(at, habit)
    return words if habit.units == "metric" else {"12:00 pm": "noon"}.get(words, words.replace(":00", ""))


def weekday(at: datetime, habit: Habit) -> str:
    """Three letters of the local day of the week."""
    return WEEKDAYS[local(at, habit).weekday()]


def moment(at: datetime, habit: Habit) -> str:
    """Day of the week and time of day: ``Fri 18:40``."""
    return f"{weekday(at, habit)} {clock(at, habit)}"


def short_date(day: date, habit: Habit) -> str:
    """Day and month: ``12 Sep``, or ``Sep 12`` where units are US."""
    name = MONTHS[day.month - 1]
    return f"{name} {day.day}" if habit.units == "us" else f"{day.day} {name}"


def long_date(day: date, habit: Habit) -> str:
    """Day, month and year, the month as letters so that nobody swaps it with the day."""
    return f"{short_date(day, habit)}{',' if habit.units == 'us' else ''} {day.year}"


def duration(minutes: float) -> str:
    """A length of time: ``45 min``, ``2 h``, ``2 h 10 min``."""
    whole = round(minutes)
    hours, rest = divmod(whole, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def degrees(c: float, habit: Habit) -> float:
    """Celsius in the chat's own degrees."""
    return c * 9 / 5 + 32 if habit.units == "us" else c


def degree_sign(habit: Habit) -> str:
    """``°F`` or ``°C``."""
    return "°F" if habit.units == "us" else "°C"


def _trim(value: float) -> str:
    # A published 62.8 °C is 145 °F, so a tenth off is a whole degree; 144.7 must not look like 145.
    near = round(value)
    return f"{near:d}" if abs(value - near) <= 0.1 + 1e-9 else f"{value:.1f}"


def temperature(c: float, habit: Habit) -> str:
    """``62.8 °C`` or ``145 °F``."""
    if habit.units == "us":
        return f"{_trim(degrees(c, habit))} °F"
    return f"{c:.1f}".removesuffix(".0") + " °C"


def temperature_both(c: float, habit: Habit) -> str:
    """In both scales, the chat's own first: ``145 °F / 62.8 °C``."""
    us, metric = Habit(habit.zone, "us"), Habit(habit.zone, "metric")
    first, second = (us, metric) if habit.units == "us" else (metric, us)
    return f"{temperature(c, first)} / {temperature(c, second)}"


def mass(g: float, habit: Habit) -> str:
    """``850 g``, ``1.98 kg``; US: ``14 oz``, ``4 lb 6 oz``."""
    if habit.units == "metric":
        return f"{g:.0f} g" if g < 999.5 else f"{g / 1000:.2f} kg"
    pounds, ounces = divmod(round(g / GRAMS_PER_LB * 16), 16)
    if not pounds:
        return f"{ounces} oz"
    return f"{pounds} lb {ounces} oz" if ounces else f"{pounds} lb"


def length_value(mm: float, habit: Habit) -> float:
    """Millimetres in the chat's own length unit."""
    return mm / MM_PER_INCH if habit.units == "us" else mm


def length_unit(habit: Habit) -> str:
    """``in`` or ``mm``."""
    return "in" if habit.units == "us" else "mm"
