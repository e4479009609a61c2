"""Read expressions of time as they were said, without deciding yet which moment is meant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bot.understanding.clocks import read_bare_hour, read_clock
from bot.understanding.days import day_words, read_day, read_part
from bot.understanding.numbers import text_at
from bot.understanding.quantities import read_quantity
from bot.understanding.tokens import Token
from bot.understanding.when import When
from bot.understanding.wordlists import words

_PREPS = words("whens", "preps")
_FILLERS = words("whens", "fillers")
#: A bare figure before "ago" is of minutes from here on.
_LEAST_MIN = 5
_MEALS = words("whens", "meals")


def time_words() -> frozenset[str]:
    """Return the words with which a time may begin."""
    starts = "now nu right just as starting from in within last next this coming past day night the first early late"
    return day_words() | _PREPS | frozenset({*starts.split(), "about", "bout", "another", "over"})


def read_when(tokens: Sequence[Token], i: int) -> tuple[When, int] | None:
    """Read a time at ``i``; return it and the index behind it."""
    prep, j = "", i
    if text_at(tokens, i) in _PREPS and text_at(tokens, i) not in {"on"}:
        prep, j = text_at(tokens, i), i + 1
        while text_at(tokens, j) in {
            "about",
            "around",
            "bout",
            "at",
            "like",
            "~",
            ".",
            "roughly",
            "approx",
            "ca",
            "the",
        }:
            j += 1
    found = _relative(tokens, j, prep) or _absolute(tokens, j, prep)
    if found is None:
        return None
    when, k = found
    words = " ".join(t.text for t in tokens[i:k])
    return replace(when, prep=prep, words=words), k


def _relative(tokens: Sequence[Token], i: int, prep: str) -> tuple[When, int] | None:
    word = text_at(tokens, i)
    if word in {"now", "nu"}:
        return When(now=True), i + 1
    if word in {"right", "just", "as", "starting", "from"} and text_at(tokens, i + 1) == "now":
        return When(now=True), i + 2
    if word == "in" or (word == "within" and not prep):
        span = _span(tokens, i + 1)
        if span is None or text_at(tokens, span[1]) in {"brine", "ago", "back"}:
            return None  # "in 2 hours brine" lasts, "went in 2 hours ago" looks back
        return When(span_s=span[0]), span[1]
    span = _span(tokens, i)
    if span is None:
        return None
    seconds, j = span
    if text_at(tokens, j) in {"ago", "aggo", "back", "earlier", "siden", "sedan"} or (
        text_at(tokens, j) == "or" and text_at(tokens, j + 2) == "ago"
    ):
        return When(span_s=-seconds), j + (1 if text_at(tokens, j) != "or" else 3)
    if text_at(tokens, j) == "from" and text_at(tokens, j + 1) == "now":
        return When(span_s=seconds), j + 2
    return None


def _span(tokens: Sequence[Token], i: int) -> tuple[float, int] | None:
    """Read a duration; ``an hour or so``, ``half an hour``, ``20 min``."""
    while text_at(tokens, i) in {
        "about",
        "bout",
        "around",
        "like",
        "~",
        "maybe",
        "roughly",
        "another",
        "approx",
        "just",
        "over",
    }:
        i += 1
    if text_at(tokens, i) in {"few", "some"} or (text_at(tokens, i) == "a" and text_at(tokens, i + 1) == "few"):
        return None
    found = read_quantity(tokens, i)
    if found is not None and found[0].kind == "bare" and text_at(tokens, found[1]) == "ago":
        return (found[0].value * 60.0, found[1]) if _LEAST_MIN <= found[0].value < 60 else None  # 20 ago
    if found is None or found[0].kind != "time":
        return None
    quantity, j = found
    if text_at(tokens, j) == "or" and text_at(tokens, j + 1) in {"so", "thereabouts"}:
        j += 2
    if text_at(tokens, j) in {"ish", "max", "tops"}:
        j += 1
    return quantity.value, j


def _absolute(tokens: Sequence[Token], i: int, prep: str) -> tuple[When, int] | None:
    """Collect hour, day and part of the day, in any order, each at most once."""
    when, j, parts = When(), i, 0
    while j < len(tokens) and parts < 4:
        k = j
        while parts and k < j + 2 and text_at(tokens, k) in _FILLERS:
            k += 1
        k += bool(parts and text_at(tokens, k) == "for" and text_at(tokens, k + 1) in _MEALS)  # sunday for dinner
        step = _component(tokens, k, when, prep, parts > 0)
        if step is None:
            break
        when, j = step
        parts += 1
    if not parts:
        return None
    lone_hour = when.hour is not None and not when.meridiem and when.day is None and when.weekday is None
    return replace(when, bare=lone_hour and not when.part and parts == 1), j


def _component(tokens: Sequence[Token], i: int, when: When, prep: str, more: bool) -> tuple[When, int] | None:
    if when.hour is None:
        dated = when.day is not None or when.weekday is not None or when.date is not None
        clock = read_clock(tokens, i, prep or ("at" if dated else ""))
        if clock is not None:
            return replace(when, hour=clock[0].hour, minute=clock[0].minute, meridiem=clock[0].meridiem), clock[1]
    day = read_day(tokens, i)
    if day is not None and when.day is None and when.weekday is None and when.date is None:
        found, j = day
        return replace(
            when,
            day=found.day,
            weekday=found.weekday,
            week=found.week,
            date=found.date,
            part=found.part or when.part,
        ), j
    part = read_part(tokens, i, when, prep)
    if part is not None and not when.part:
        return replace(when, part=part[0]), part[1]
    if when.hour is None:
        bare = read_bare_hour(tokens, i, when, prep, more)
        if bare is not None:
            return replace(when, hour=bare[0], meridiem=bare[1]), bare[2]
    return None
