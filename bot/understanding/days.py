"""Read days and parts of the day."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

from bot.understanding.numbers import read_number, text_at
from bot.understanding.tokens import Token
from bot.understanding.when import When

#: The days whose short name may carry a dot.
_SHORT_DAYS = frozenset({"sat", "sun", "fri", "mon", "tue", "tues", "wed", "thu", "thurs"})
#: Short names of days that are everyday words too.
_EVERYDAY = frozenset({"sun", "sat", "mon", "wed"})


@cache
def _calendar(section: str) -> dict[str, str]:
    """Return word -> key of a section of the calendar's words."""
    listed = tomllib.loads(files("bot.lexicon").joinpath("calendar.toml").read_text(encoding="utf-8"))[section]
    return {word: key for key, line in listed.items() for word in line.split()}


@cache
def _numbered(section: str) -> dict[str, int]:
    return {word: int(key) for word, key in _calendar(section).items()}


@cache
def day_words() -> frozenset[str]:
    """Return the words with which a day or a part of the day may begin."""
    return frozenset(word for section in ("weekday", "month", "day", "part") for word in _calendar(section))


def read_day(tokens: Sequence[Token], i: int) -> tuple[When, int] | None:
    """Read ``tomorrow``, ``last night``, ``next saturday``, ``this morning``, ``sept 12`` at ``i``."""
    word = text_at(tokens, i)
    if word in _numbered("day"):
        part = "night" if _calendar("part").get(word) == "night" else ""
        return When(day=_numbered("day")[word], part=part), i + 1
    return _day_phrase(tokens, i) or _nights_ago(tokens, i) or _weekday(tokens, i) or _date(tokens, i)


def _nights_ago(tokens: Sequence[Token], i: int) -> tuple[When, int] | None:
    """Read ``2 nights ago``."""
    if text_at(tokens, i + 1) not in {"nights", "evenings"} or text_at(tokens, i + 2) != "ago":
        return None
    found = read_number(tokens, i)
    if found is None or found[1] != i + 1 or found[0].value not in range(1, 8):
        return None
    return When(day=-int(found[0].value), part="night"), i + 3


def _weekday(tokens: Sequence[Token], i: int) -> tuple[When, int] | None:
    """Read a weekday, with ``last``, ``next`` or ``this``; also ``last night``, ``this morning``."""
    week = {"last": -1, "next": 1, "this": 0, "coming": 0, "past": -1}.get(text_at(tokens, i))
    k = i + 1 if week is not None else i
    name = text_at(tokens, k)
    if name in _numbered("weekday") and not (name in _EVERYDAY and not _day_like(tokens, k)):
        dotted = name in _SHORT_DAYS and _dot(tokens, k + 1)
        return When(weekday=_numbered("weekday")[name], week=week or 0), k + (2 if dotted else 1)
    if week == -1 and name in {"night", "nite", "evening", "eve"}:
        return When(day=-1, part="night" if name in {"night", "nite"} else "evening"), k + 1
    if text_at(tokens, i) == "this" and name in _calendar("part"):
        return When(day=0, part=_calendar("part")[name]), k + 1
    return None


def _day_phrase(tokens: Sequence[Token], i: int) -> tuple[When, int] | None:
    """Read ``the day after tomorrow``, ``day before yesterday``, ``night before last``."""
    k = i + 1 if text_at(tokens, i) == "the" else i
    first, second, third = (text_at(tokens, k + n) for n in range(3))
    if (first, second) == ("day", "after") and _numbered("day").get(third) == 1:
        return When(day=2), k + 3
    if (first, second) == ("day", "before") and _numbered("day").get(third) == -1:
        return When(day=-2), k + 3
    if (first, second, third) == ("night", "before", "last"):
        return When(day=-2, part="night"), k + 3
    return None


def _day_like(tokens: Sequence[Token], k: int) -> bool:
    """True where ``sat`` or ``sun`` is a day, not a verb or the thing in the sky."""
    before, after = text_at(tokens, k - 1) if k else "", text_at(tokens, k + 1)
    if text_at(tokens, k) == "sun":
        return before != "the" and after not in {"is", "dried", "dry"}
    if text_at(tokens, k) == "sat":
        return before not in {"it", "they", "i", "we", "has", "have", "been", "fish", "that", "just"} and after not in {
            "in", "out", "for", "there", "on", "overnight", "down",
        }  # fmt: skip
    return True


def _dot(tokens: Sequence[Token], j: int) -> bool:
    return text_at(tokens, j) == "." and tokens[j].glued and j + 1 < len(tokens)


def _date(tokens: Sequence[Token], i: int) -> tuple[When, int] | None:
    """Read ``sept 12``, ``12th of september``."""
    word = text_at(tokens, i)
    if word in _numbered("month") and i + 1 < len(tokens) and tokens[i + 1].text.isdigit():
        day = int(tokens[i + 1].text)
        if 1 <= day <= 31 and word not in {"may", "mar"} | set():
            j = i + 3 if text_at(tokens, i + 2) in {"st", "nd", "rd", "th"} else i + 2
            return When(date=(_numbered("month")[word], day)), j
    alone = text_at(tokens, i + 1) in {"st", "nd", "rd", "th"} and text_at(tokens, i - 1) == "the" and i > 0
    if alone and word.isdigit() and 1 <= int(word) <= 31 and text_at(tokens, i + 2) not in {*_numbered("month"), "of"}:
        return When(date=(0, int(word))), i + 2  # the 15th: of this month or the next
    if word.isdigit() and len(word) <= 2 and 1 <= int(word) <= 31:
        j = i + 2 if text_at(tokens, i + 1) in {"st", "nd", "rd", "th"} else i + 1
        j += text_at(tokens, j) == "of"
        name = text_at(tokens, j)
        if name in _numbered("month") and name not in {"may", "mar"}:
            return When(date=(_numbered("month")[name], int(word))), j + 1
    return None


def read_part(tokens: Sequence[Token], i: int, when: When, prep: str) -> tuple[str, int] | None:
    """Read a part of the day at ``i``, where an hour, a day or a preposition makes it a time."""
    word = text_at(tokens, i)
    if word in {"in", "the"} or (word == "first" and text_at(tokens, i + 1) == "thing"):
        return _part_phrase(tokens, i)
    if word == "first" and text_at(tokens, i + 1) == "light":
        return "dawn", i + 2
    if word == "early" and text_at(tokens, i + 1) in _calendar("part"):
        return read_part(tokens, i + 1, when, prep)
    if word == "late" and text_at(tokens, i + 1) in _calendar("part"):
        return read_part(tokens, i + 1, when, prep)
    if word not in _calendar("part"):
        return None
    part = _calendar("part")[word]
    anchored = when.hour is not None or when.day is not None or when.weekday is not None or when.date is not None
    if anchored or prep or part in {"noon", "midnight"}:
        return part, i + 1
    return None


def _part_phrase(tokens: Sequence[Token], i: int) -> tuple[str, int] | None:
    words = [text_at(tokens, i + n) for n in range(4)]
    if words[:2] == ["first", "thing"]:
        after = _part_phrase(tokens, i + 2)
        return ("early", after[1]) if after else ("early", i + 2)
    skip = 2 if words[:2] == ["in", "the"] else 1 if words[0] == "the" else 0
    if skip == 2 and words[2] in {"morning", "mornin", "morn", "afternoon", "evening", "arvo", "night"}:
        return _calendar("part")[words[2]], i + 3
    if skip == 2 and words[2] in {"wee", "small", "early"} and words[3] in {"hours", "morning"}:
        return "small_hours", i + 4
    return None
