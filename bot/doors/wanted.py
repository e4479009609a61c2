"""What a written conversation may expect of a fact, a text or a moment."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_DAY = "|".join(WEEKDAYS)
_CLOCK = re.compile(rf"(?:({_DAY}) )?([01]?\d|2[0-3]):([0-5]\d)(?:~(\d+)(min|h))?")
_NUMBER = re.compile(r"([-+]?\d+(?:\.(\d+))?)(?:~(\d+(?:\.\d+)?)(%?))?")
_CONDITION = re.compile(r"(\w+(?:\.\w+|\[\w+=[\w-]+\]|\[\d+\])*)([=<>])(.*)", re.DOTALL)
_STEP = re.compile(r"\.?(\w+)|\[(\w+)=([\w-]+)\]|\[(\d+)\]")
_AT = re.compile(rf"(.*?)\s+at\s+((?:(?:{_DAY}) )?\d?\d:\d\d(?:~\d+(?:min|h))?)", re.DOTALL)


def text_agrees(pattern: str, text: str) -> bool:
    """True if ``text`` is what is written, where ``…`` stands for any run of text."""
    parts = [re.escape(part) for part in _tidy(pattern).split("…")]
    return re.fullmatch(".*".join(parts), _tidy(text), re.DOTALL) is not None


def _tidy(text: str) -> str:
    return "\n".join(line.rstrip() for line in text.strip().splitlines())


@dataclass(frozen=True)
class Clock:
    """A time of day, perhaps of a certain weekday, to the minute or give or take ``within``."""

    written: str
    day: str | None
    hour: int
    minute: int
    within: timedelta = timedelta()

    def agrees(self, moment: datetime, zone: ZoneInfo) -> bool:
        """True if ``moment`` shows this time in ``zone``."""
        local = moment.astimezone(zone)
        wanted = local.replace(hour=self.hour, minute=self.minute, second=0, microsecond=0)
        nearest = min((wanted + timedelta(days=days) for days in (-1, 0, 1)), key=lambda day: abs(day - local))
        if self.day is not None and WEEKDAYS[nearest.weekday()] != self.day:
            return False
        if not self.within:
            return nearest == local.replace(second=0, microsecond=0)
        return abs(nearest - local) <= self.within


def clock(written: str) -> Clock | None:
    """``06:30``, ``Sat 06:30`` or ``06:30~20min``; None if it is none of them."""
    found = _CLOCK.fullmatch(written)
    if found is None:
        return None
    day, hour, minute, count, unit = found.groups()
    within = timedelta(minutes=int(count or 0) * (60 if unit == "h" else 1))
    return Clock(written, day, int(hour), int(minute), within)


@dataclass(frozen=True)
class Condition:
    """One ``key=value`` (or ``<``, ``>``) of a fact."""

    path: str
    sign: str
    value: str

    def holds(self, fact: Mapping[str, Any], zone: ZoneInfo) -> bool:
        """True if one of the values under the path is as wanted."""
        return any(_agrees(self.sign, self.value, found, zone) for found in values_at(fact, self.path))

    def __str__(self) -> str:
        return f"{self.path}{self.sign}{self.value}"


@dataclass(frozen=True)
class WantedFact:
    """A fact of a kind with certain values, said at a certain time where ``at`` is given."""

    line: int
    written: str
    kind: str
    conditions: tuple[Condition, ...]
    at: Clock | None

    def agrees(self, fact: Mapping[str, Any], zone: ZoneInfo) -> bool:
        """True if the kind and every condition fit."""
        return fact.get("kind") == self.kind and not self.unmet(fact, zone)

    def unmet(self, fact: Mapping[str, Any], zone: ZoneInfo) -> list[str]:
        """The conditions that ``fact`` does not meet, each with what stands there instead."""
        return [
            f"{condition} (is {_short(list(values_at(fact, condition.path)))})"
            for condition in self.conditions
            if not condition.holds(fact, zone)
        ]


def wanted_fact(line: int, written: str) -> WantedFact:
    """Read ``KIND key=value … [at CLOCK]``; ValueError says what cannot be read."""
    at_part = _AT.fullmatch(written)
    body, at = (at_part[1], clock(at_part[2])) if at_part else (written, None)
    kind, *pairs = _words(body) or [""]
    if not re.fullmatch(r"[a-z_]+", kind):
        raise ValueError(f"a fact begins with its kind, not {kind!r}; write 'facts> verdict call=wait'")
    return WantedFact(line, written, kind, tuple(_condition(pair) for pair in pairs), at)


def _words(text: str) -> list[str]:
    """Split at spaces; double quotes hold a value together."""
    splitter = shlex.shlex(text, posix=True)
    splitter.whitespace_split = True
    splitter.quotes = '"'
    splitter.commenters = ""
    return list(splitter)


def _condition(pair: str) -> Condition:
    found = _CONDITION.fullmatch(pair)
    if found is None:
        raise ValueError(f"{pair!r} is not key=value; a key is eta.p50 or stages[stage=soak].end")
    path, sign, value = found.groups()
    if sign != "=" and _NUMBER.fullmatch(value) is None:
        raise ValueError(f"{pair!r} compares with something that is no number")
    return Condition(path, sign, value)


def values_at(found: Any, path: str) -> Iterator[Any]:
    """Values under ``eta.p50`` or ``stages[stage=soak].end``; a list stands for each of its items."""
    here = [found]
    for step in _STEP.finditer(path):
        here = [inner for value in here for inner in _inside(value, step)]
    for value in here:
        yield from value if isinstance(value, list | tuple) and value else [value]


def _inside(value: Any, step: re.Match[str]) -> Iterator[Any]:
    name, key, wanted, index = step.groups()
    if index is not None:
        if isinstance(value, list | tuple) and int(index) < len(value):
            yield value[int(index)]
        return
    for item in value if isinstance(value, list | tuple) else [value]:
        if not isinstance(item, Mapping):
            continue
        if name is not None and name in item:
            yield item[name]
        elif key is not None and str(item.get(key)) == wanted:
            yield item


def _agrees(sign: str, wanted: str, found: Any, zone: ZoneInfo) -> bool:
    if wanted == "*":
        return found is not None
    if wanted in ("true", "false", "null"):
        return found is {"true": True, "false": False, "null": None}[wanted]
    if isinstance(found, int | float) and not isinstance(found, bool):
        return _number_agrees(sign, wanted, float(found))
    moment, time = _moment(found), clock(wanted)
    if moment is not None and time is not None:
        return time.agrees(moment, zone)
    return isinstance(found, str) and text_agrees(wanted, found)


def _number_agrees(sign: str, wanted: str, found: float) -> bool:
    """Within ``~tolerance``, else to the digits that were written."""
    written = _NUMBER.fullmatch(wanted)
    if written is None:
        return False
    number, decimals, tolerance, percent = float(written[1]), written[2] or "", written[3], written[4]
    if sign == "<":
        return found < number
    if sign == ">":
        return found > number
    within = float(tolerance) if tolerance else 0.5 * 10.0 ** -len(decimals)
    if percent:
        within = abs(number) * within / 100
    return abs(found - number) <= within + 1e-9


def _moment(value: Any) -> datetime | None:
    if isinstance(value, datetime):
        return value
    try:
        moment = datetime.fromisoformat(value)
    except (TypeError, ValueError):
        return None
    return moment if moment.tzinfo is not None else None


def _short(values: list[Any]) -> str:
    if not values:
        return "missing"
    said = ", ".join(str(value) for value in values)
    return said if len(said) <= 80 else said[:77] + "..."
