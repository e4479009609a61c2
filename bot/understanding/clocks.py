"""Read hours: on a clock of twelve or twenty-four, in figures or words."""

from __future__ import annotations

from collections.abc import Sequence

from bot.understanding.days import read_day, read_part
from bot.understanding.numbers import read_number, text_at
from bot.understanding.quantities import read_quantity
from bot.understanding.tokens import Token
from bot.understanding.when import When
from bot.understanding.wordlists import words

_PREPS = words("whens", "preps")
_FILLERS = words("whens", "fillers")
#: Words behind which one moment is told, not a range.
_POINTS = frozenset({"at", "since", "@", "around", "about"})
#: From this hour on "… oh five" is no temperature of the work.
_LEAST_OH = 3


def read_clock(tokens: Sequence[Token], i: int, prep: str) -> tuple[When, int] | None:
    """Read ``9:40 pm``, ``21.40`` before a day word, ``6am``, ``0630 hrs``, ``half past nine``, ``9 o'clock``."""
    if i >= len(tokens):
        return None
    token = tokens[i]
    if token.kind == "clock":
        hour, minute = (int(p) for p in token.text.split(":"))
        meridiem, j = _meridiem(tokens, i + 1)
        j += text_at(tokens, j) in {"h", "hrs", "hours", "uhr"} and not meridiem
        return _checked(hour, minute, meridiem or ("24" if hour > 12 or token.text[0] == "0" else ""), j)
    if token.kind == "num":
        return _numeric_clock(tokens, i, prep)
    return (_minutes_to(tokens, i) if prep in _POINTS else None) or _worded_clock(tokens, i)


def _meridiem(tokens: Sequence[Token], j: int) -> tuple[str, int]:
    word = text_at(tokens, j)
    if word in {"am", "pm"}:
        return word, j + 1
    if word in {"a", "p"} and j < len(tokens) and tokens[j].glued and text_at(tokens, j + 1) != "/":
        return word + "m", j + 1
    if word in {"ish", "'ish"}:
        return _meridiem(tokens, j + 1)
    return "", j


def _numeric_clock(tokens: Sequence[Token], i: int, prep: str) -> tuple[When, int] | None:
    text = tokens[i].text
    if "." in text and len(text) <= 5 and len(text.split(".")) == 2:
        return _dotted_clock(tokens, i, prep)
    if not text.isdigit() or len(text) > 4:
        return None
    meridiem, j = _meridiem(tokens, i + 1)
    if meridiem and len(text) <= 2:
        return _checked(int(text), 0, meridiem, j)
    if len(text) == 4 or (len(text) == 3 and meridiem):
        return _military(tokens, i, prep, meridiem, j)
    following = text_at(tokens, i + 1)
    if following in {"o'clock", "oclock", "oclk", "uhr"}:
        meridiem, j = _meridiem(tokens, i + 2)
        return _checked(int(text), 0, meridiem or ("24" if int(text) > 12 else ""), j)
    if following == "h" and i + 2 < len(tokens) and tokens[i + 2].kind == "num" and tokens[i + 2].glued:
        minute = tokens[i + 2].text
        if (
            len(minute) == 2
            and len(text) == 2
            and int(text) < 24
            and prep in {"at", "by", "since", "till", "until", "@", "from"}
        ):
            return _checked(int(text), int(minute), "24", i + 3)
    return _past_to(tokens, i)


def _dotted_clock(tokens: Sequence[Token], i: int, prep: str) -> tuple[When, int] | None:
    hour, minute = tokens[i].text.split(".")
    if not (hour.isdigit() and len(minute) == 2 and int(hour) < 24 and int(minute) < 60):
        return None
    meridiem, j = _meridiem(tokens, i + 1)
    day_follows = read_day(tokens, j) is not None or read_part(tokens, j, When(), "") is not None
    if not (meridiem or day_follows or prep in {"at", "since", "till", "until", "by", "kl", "@"}):
        return None
    if read_quantity(tokens, i) and read_quantity(tokens, i)[0].kind != "bare":  # type: ignore[index]
        return None
    return _checked(int(hour), int(minute), meridiem or ("24" if int(hour) > 12 or hour[0] == "0" else ""), j)


def _military(tokens: Sequence[Token], i: int, prep: str, meridiem: str, j: int) -> tuple[When, int] | None:
    text = tokens[i].text.zfill(4)
    hour, minute = int(text[:2]), int(text[2:])
    suffix = text_at(tokens, j) in {"h", "hrs", "hours", "hr"}
    day_follows = read_day(tokens, j) is not None
    said = read_quantity(tokens, i)
    if said is not None and said[0].kind != "bare":
        return None  # "sunday 1200 g"
    if (
        minute > 59
        or hour > 23
        or not (prep in _PREPS - {"about", "around", "for", "past"} or suffix or meridiem or day_follows)
    ):
        return None
    return _checked(hour, minute, meridiem or "24", j + suffix)


def _checked(hour: int, minute: int, meridiem: str, j: int) -> tuple[When, int] | None:
    if hour > 24 or minute > 59:
        return None
    if meridiem in {"am", "pm"} and not 1 <= hour <= 12:
        meridiem = "24"
    return When(hour=hour % 24 if meridiem == "24" else hour, minute=minute, meridiem=meridiem), j


def _worded_clock(tokens: Sequence[Token], i: int) -> tuple[When, int] | None:
    word = text_at(tokens, i)
    if word == "half" and text_at(tokens, i + 1) in {"past", "after"}:
        return _hour_with(tokens, i + 2, 30)
    if word in {"quarter", "a"} and text_at(tokens, i + (word == "a")) == "quarter":
        k = i + 1 + (word == "a")
        if text_at(tokens, k) in {"past", "after"}:
            return _hour_with(tokens, k + 1, 15)
        if text_at(tokens, k) in {"to", "till", "til", "of", "before"}:
            return _hour_with(tokens, k + 1, -15)
    if word == "half" and (_small_hour(tokens, i + 1) or 0) >= 4 and _unit_free(tokens, i + 2):
        return _hour_with(tokens, i + 1, 30)
    minutes_first = _past_to(tokens, i) if text_at(tokens, i) in {"five", "ten", "twenty"} else None
    if minutes_first is not None:
        return minutes_first
    spoken = _small_hour(tokens, i)
    if spoken is None:
        return None
    meridiem, j = _meridiem(tokens, i + 1)
    if meridiem:
        return _checked(spoken, 0, meridiem, j)
    if text_at(tokens, i + 1) in {"o'clock", "oclock"}:
        meridiem, j = _meridiem(tokens, i + 2)
        return _checked(spoken, 0, meridiem, j)
    return _oh_minutes(tokens, i, spoken) or _spoken_minutes(tokens, i, spoken) or _past_to(tokens, i)


def _minutes_to(tokens: Sequence[Token], i: int) -> tuple[When, int] | None:
    """Read ``ten to twelve`` behind "at", where it is no range."""
    minutes = {"five": 5, "ten": 10, "twenty": 20}.get(text_at(tokens, i))
    hour = _small_hour(tokens, i + 2)
    if minutes is None or text_at(tokens, i + 1) != "to" or hour is None or not _unit_free(tokens, i + 3):
        return None
    return _hour_with(tokens, i + 2, -minutes)


def _oh_minutes(tokens: Sequence[Token], i: int, hour: int) -> tuple[When, int] | None:
    """Read ``twelve oh five``; "two oh five" is as likely 205 degrees."""
    minute = _small_hour(tokens, i + 2)
    if hour < _LEAST_OH or text_at(tokens, i + 1) not in {"oh", "o"} or minute is None or minute > 9:
        return None
    meridiem, j = _meridiem(tokens, i + 3)
    return _checked(hour, minute, meridiem, j)


def _spoken_minutes(tokens: Sequence[Token], i: int, hour: int) -> tuple[When, int] | None:
    """Read ``nine forty`` before am, pm or a part of the day."""
    found = read_number(tokens, i + 1)
    if (
        found is None
        or found[0].value not in {5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55}
        or tokens[i + 1].kind != "word"
    ):
        return None
    meridiem, j = _meridiem(tokens, found[1])
    if not meridiem and read_part(tokens, j, When(hour=hour), "") is None and read_day(tokens, j) is None:
        return None
    return _checked(hour, int(found[0].value), meridiem, j)


def _unit_free(tokens: Sequence[Token], j: int) -> bool:
    return (
        j >= len(tokens)
        or tokens[j].kind in {"end"}
        or text_at(tokens, j) in _FILLERS
        or read_part(tokens, j, When(hour=1), "") is not None
        or read_day(tokens, j) is not None
        or text_at(tokens, j) in {"am", "pm"}
    )


def _past_to(tokens: Sequence[Token], i: int) -> tuple[When, int] | None:
    """Read ``ten past six``, ``20 to 9``."""
    found = read_number(tokens, i)
    if found is None or not 1 <= found[0].low <= 29 or found[0].value != int(found[0].value):
        return None
    minutes, j = int(found[0].value), found[1]
    if found[0].low != found[0].high:  # "20 to 29" was read as a range
        return None
    if text_at(tokens, j) in {"min", "mins", "minutes"}:
        j += 1
    if text_at(tokens, j) in {"past", "after"} and minutes in range(1, 30):
        return _hour_with(tokens, j + 1, minutes)
    if text_at(tokens, j) == "to" and minutes in {5, 10, 20, 25}:
        return _hour_with(tokens, j + 1, -minutes)
    return None


def _small_hour(tokens: Sequence[Token], i: int) -> int | None:
    if i >= len(tokens):
        return None
    words = [
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
        "eleven",
        "twelve",
    ]
    if tokens[i].text in words:
        return words.index(tokens[i].text) + 1
    return int(tokens[i].text) if tokens[i].text.isdigit() and len(tokens[i].text) <= 2 else None


def _hour_with(tokens: Sequence[Token], i: int, minutes: int) -> tuple[When, int] | None:
    if text_at(tokens, i) in {"midnight", "noon"}:
        total = (0 if tokens[i].text == "midnight" else 720) + minutes
        return _checked(total // 60 % 24, total % 60, "24", i + 1)
    hour = _small_hour(tokens, i)
    if hour is None or not 1 <= hour <= 24:
        return None
    meridiem, j = _meridiem(tokens, i + 1)
    if minutes < 0:
        hour, minutes = (hour - 1 if hour > 1 else 12), 60 + minutes
        if hour == 11 and meridiem:
            meridiem = "am" if meridiem == "pm" else "pm"
    return _checked(hour, minutes, meridiem or ("24" if hour > 12 else ""), j)


def read_bare_hour(tokens: Sequence[Token], i: int, when: When, prep: str, more: bool) -> tuple[int, str, int] | None:
    """Read an hour that only the day or part of day beside it makes an hour: ``tomorrow at 7``, ``9 last night``."""
    hour = _small_hour(tokens, i)
    if hour is None or hour > 24:
        return None
    amount = read_quantity(tokens, i)
    if amount is None or amount[0].kind != "bare" or amount[0].number.fraction or amount[1] != i + 1:
        return None
    if not more and not _day_word_follows(tokens, i + 1, prep):
        return None
    return hour, "24" if hour > 12 or hour == 0 else "", i + 1


def _day_word_follows(tokens: Sequence[Token], j: int, prep: str) -> bool:
    k = j
    while k < j + 2 and text_at(tokens, k) in {"on", "in", "the", "ish", "at"}:
        if text_at(tokens, k) == "in" and read_part(tokens, k, When(hour=1), prep) is not None:
            return True
        k += 1
    if read_day(tokens, k) is not None and not text_at(tokens, k).isdigit():
        return True
    return text_at(tokens, k) in {"morning", "evening", "afternoon", "night", "noon"}
