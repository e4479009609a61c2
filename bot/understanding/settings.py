"""Read settings: zone, units, quiet hours."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any
from zoneinfo import available_timezones

from bot.understanding.items import Sheet
from bot.understanding.model import Context, Doubt, Heard
from bot.understanding.numbers import read_number
from bot.understanding.tokens import Token, tokens
from bot.understanding.whens import When, read_when


@cache
def _zones() -> dict[str, str]:
    """Return names as typed -> IANA names."""
    data = tomllib.loads(files("bot.lexicon").joinpath("zones.toml").read_text(encoding="utf-8"))["zones"]
    named = {name: zone for zone, names in data.items() for name in names}
    return {**{z.lower(): z for z in available_timezones() if "/" in z}, **named}


def read_setting(sheet: Sheet, context: Context) -> tuple[Heard, list[Doubt]] | None:
    """Return the setting that a message asks for, or None."""
    text = " ".join(sheet.words())
    found = tokens(text)
    said = [t.text for t in found]
    slots: dict[str, Any] = {}
    for key, value in (("quiet", _quiet(found)), ("units", _units(said)), ("zone", _zone(said))):
        if value:
            slots[key] = value
    return (Heard("setting", slots), []) if slots else None


def _units(words: list[str]) -> str | None:
    told = set(words)
    asked = told & {
        "use",
        "units",
        "switch",
        "set",
        "want",
        "prefer",
        "in",
        "please",
        "only",
        "go",
        "talk",
        "show",
        "think",
        "we",
        "i",
        "pls",
        "unit",
        "everything",
        "to",
    }
    if len(words) > 9 or not (asked or len(words) <= 2) or told & {"brine", "core", "was", "that"}:
        return None
    if any(w.isdigit() for w in words):
        return None
    if told & {"metric", "celsius", "celcius", "kilos", "grams", "centigrade", "si"}:
        return None if "not" in told else "metric"
    if told & {
        "imperial",
        "fahrenheit",
        "farenheit",
        "us",
        "american",
        "customary",
        "pounds",
        "inches",
    } and not ("us" in told and not told & {"units", "unit", "measures", "use"}):
        return "us"
    return None


def _zone(said: list[str]) -> str | None:
    """Read "pacific time", "zone America/Vancouver"."""
    joined = "".join(said)
    for name, zone in _zones().items():
        if "/" in name and name in joined and len(said) <= 12:
            return zone
    if not {"time", "zone", "timezone", "tz", "clock"} & set(said) or len(said) > 10:
        return None
    padded = " " + " ".join(said) + " "
    best = [(len(name), zone) for name, zone in _zones().items() if f" {name} " in padded]
    return max(best)[1] if best else None


def _quiet(found: tuple[Token, ...]) -> list[str] | None:
    """Read "quiet from 11 to 6", "no pings between 22:30 and 06:30", "don't wake me before 6"."""
    words = [t.text for t in found]
    text = " ".join(words)
    if not any(
        cue in text
        for cue in (
            "quiet",
            "do not disturb",
            "don't disturb",
            "dont disturb",
            "no pings",
            "no messages",
            "silent",
            "no alarms",
            "i sleep",
            "don't wake",
            "dont wake",
            "no reminders",
            "no ringing",
            "leave me alone",
            "dnd",
            "silence",
            "i'm asleep",
            "asleep",
        )
    ):
        return None
    times: list[When] = []
    i = 0
    while i < len(found):
        when = _hour(found, i)
        if when is None:
            i += 1
        else:
            times.append(when[0])
            i = when[1]
    if len(times) != 2:
        return None
    return [_night(times[0], evening=True), _night(times[1], evening=False)]


def _hour(found: tuple[Token, ...], i: int) -> tuple[When, int] | None:
    when = read_when(found, i)
    if when is not None and (when[0].hour is not None or when[0].part in {"midnight", "noon"}):
        return when
    if when is not None and not found[i].text.isdigit():
        return None
    if found[i].text == "-" or found[i].kind not in {"num", "word"}:
        return None
    number = read_number((found[i],), 0)
    if number is None or number[0].fraction or number[0].value not in range(25):
        return None
    return When(
        hour=int(number[0].value) % 24, meridiem="24" if number[0].value > 12 or number[0].value == 0 else ""
    ), i + 1


def _night(when: When, evening: bool) -> str:
    """Return a wall time; a bare hour starts quiet in the evening and ends it in the morning."""
    hour = 0 if when.part == "midnight" and when.hour is None else (when.hour or 0)
    if when.meridiem in {"am", "pm"}:
        hour = hour % 12 + (12 if when.meridiem == "pm" else 0)
    elif not when.meridiem and when.hour is not None and hour <= 12 and evening:
        hour = 0 if hour == 12 else hour + 12 if hour >= 6 else hour
    return f"{hour % 24:02d}:{when.minute:02d}"
