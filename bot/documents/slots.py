"""A journal entry's data in words: each key by the unit at its end."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from bot.pictures.habits import Habit, clock, local, mass, short_date, temperature_both, weekday

INSTANT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d")
#: Keys that have a place of their own in a record.
TOLD_APART = frozenset({"reasons"})


def _grams(g: float, habit: Habit) -> str:
    """A record keeps grams, whatever the chat likes: salt in whole ounces could not be made again."""
    return f"{mass(g, habit)} ({g:g} g)" if habit.units == "us" else f"{g:g} g"


_UNITS: tuple[tuple[str, Callable[[float, Habit], str]], ...] = (
    ("_ml_per_l", lambda v, _: f"{v:g} ml/l"),
    ("_g_per_l", lambda v, _: f"{v:g} g/l"),
    ("_m_s", lambda v, _: f"{v:g} m/s"),
    ("_c", temperature_both),
    ("_g", _grams),
    ("_ml", lambda v, _: f"{v:g} ml"),
    ("_mm", lambda v, _: f"{v:g} mm"),
    ("_pct", lambda v, _: f"{v:g} %"),
    ("_deg", lambda v, _: f"{v:g}°"),
    ("_min", lambda v, _: f"{v:g} min"),
    ("_h", lambda v, _: f"{v:g} h"),
)


def instant(at: datetime, habit: Habit) -> str:
    """Day, date and time in the chat's zone: ``Fri 11 Sep 18:40``."""
    return f"{weekday(at, habit)} {short_date(local(at, habit).date(), habit)} {clock(at, habit)}"


def slot_words(data: Mapping[str, Any], habit: Habit) -> list[str]:
    """One short text a key, e.g. ``core 145 °F / 62.8 °C``."""
    shown = ((key, value) for key, value in data.items() if key not in TOLD_APART)
    return [f"{_name(key)}{':' if _nested(value) else ''} {_value(key, value, habit)}" for key, value in shown]


def _nested(value: Any) -> bool:
    return isinstance(value, Mapping | list | tuple)


def _value(key: str, value: Any, habit: Habit) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        shown = next((shown for ending, shown in _UNITS if key.endswith(ending)), None)
        return shown(value, habit) if shown else f"{value:g}"
    if isinstance(value, Mapping):
        return ", ".join(slot_words(value, habit))
    if isinstance(value, list | tuple):
        return "; ".join(_value(key, one, habit) for one in value)
    return "none" if value is None else _instant_or_text(str(value), habit)


def _name(key: str) -> str:
    ending = next((ending for ending, _ in _UNITS if key.endswith(ending)), "")
    return key.removesuffix(ending).replace("_", " ")


def _instant_or_text(value: str, habit: Habit) -> str:
    if not INSTANT.match(value):
        return value
    try:
        at = datetime.fromisoformat(value)
    except ValueError:
        return value
    return instant(at, habit) if at.tzinfo else value
