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
from bot.understanding.when import When
from bot.understanding.whens import read_when
from bot.understanding.wordlists import words

#: A setting is short; a longer message tells something else.
_LONGEST = 24
_METRIC = words("settings", "metric")
_US = words("settings", "us")
_UNIT_CUES = words("settings", "unit_cues")
#: With these a sentence tells something else.
_NOT_UNITS = words("settings", "not_units")
_QUIET_CUES = words("settings", "quiet_cues")
_PLACE_CUES = words("settings", "place_cues")


@cache
def _zones() -> dict[str, str]:
    """Return names as typed -> IANA names."""
    data = tomllib.loads(files("bot.lexicon").joinpath("zones.toml").read_text(encoding="utf-8"))["zones"]
    named = {name: zone for zone, names in data.items() for name in names}
    return {**{z.lower(): z for z in available_timezones() if "/" in z}, **named}


def read_setting(sheet: Sheet, context: Context) -> tuple[Heard, list[Doubt]] | None:
    """Return the setting that a message asks for, or None."""
    if len(sheet.items) > _LONGEST:
        return None
    text = " ".join(sheet.words())
    found = tokens(text)
    said = [t.text for t in found]
    slots: dict[str, Any] = {}
    quiet = _quiet(found)
    for key, value in (("quiet", quiet), ("units", _units(said, beside=bool(quiet))), ("zone", _zone(said))):
        if value:
            slots[key] = value
    return (Heard("setting", slots), []) if slots else None


def _units(said: list[str], beside: bool = False) -> str | None:
    """Read "use metric", "fahrenheit please", "show temps in F"; figures may stand ``beside`` if they are hours."""
    told = set(said)
    if (len(said) > 9 and not beside) or told & _NOT_UNITS or (any(w[0].isdigit() for w in said) and not beside):
        return None
    if not (told & _UNIT_CUES or len(said) <= 2 or told <= _METRIC | _US | {"and", "&", ","}):
        return None
    if told & _METRIC or _ends(said, "c"):
        return None if "not" in told else "metric"
    if told & _US or _ends(said, "f") or ("us" in told and told & {"units", "unit", "measures", "use", "customary"}):
        return None if "not" in told else "us"
    return None


def _ends(said: list[str], scale: str) -> bool:
    return len(said) > 2 and said[-2:] == ["in", scale]


def _zone(said: list[str]) -> str | None:
    """Read "pacific time", "zone America/Vancouver"."""
    joined = "".join(said)
    for name, zone in _zones().items():
        if "/" in name and name in joined and len(said) <= 12:
            return zone
    padded = " " + " ".join(said) + " "
    placed = len(said) <= 6 and any(padded.startswith(f" {cue} ") for cue in _PLACE_CUES)
    if not placed and (not {"time", "zone", "timezone", "tz", "clock", "clocks"} & set(said) or len(said) > 10):
        return None
    best = [(len(name), zone) for name, zone in _zones().items() if f" {name} " in padded]
    return max(best)[1] if best else None


def _quiet(found: tuple[Token, ...]) -> list[str] | None:
    """Read "quiet from 11 to 6", "no pings between 22:30 and 06:30", "don't wake me before 6"."""
    text = " ".join(t.text for t in found)
    if not any(f" {cue} " in f" {text} " for cue in _QUIET_CUES):
        return None
    times: list[When] = []
    i = 0
    while i < len(found):
        if found[i].text in {"from", "between"}:
            i += 1
            continue
        pair = _plain_pair(found, i)
        if pair is not None:
            times += pair
            i += 3
            continue
        when = _hour(found, i)
        if when is None:
            i += 1
        else:
            times.append(when[0])
            i = when[1]
    if len(times) != 2:
        return None
    return [_night(times[0], evening=True), _night(times[1], evening=False)]


def _plain_pair(found: tuple[Token, ...], i: int) -> list[When] | None:
    """Read ``10 to 7``, which elsewhere is ten minutes to seven, as two hours."""
    texts = [t.text for t in found[i : i + 4]]
    if len(texts) < 3 or texts[1] not in {"to", "till", "until", "til", "-"} or texts[3:] in (["am"], ["pm"]):
        return None
    if not all(t.isdigit() and int(t) <= 24 and len(t) <= 2 for t in (texts[0], texts[2])):
        return None
    hours = (int(texts[0]), int(texts[2]))
    return [When(hour=hour % 24, meridiem="24" if hour > 12 or hour == 0 else "") for hour in hours]


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
