# ruff: noqa: RET504
"""Read expressions of time as they were said, without deciding yet which moment is meant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bot.understanding.numbers import read_number, text_at
from bot.understanding.quantities import Quantity, read_quantity
from bot.understanding.tokens import Token
from bot.understanding.wordlists import words

_WEEKDAYS = {
    name: n
    for n, names in enumerate(
        (
            "monday mon mondays", "tuesday tue tues", "wednesday wed weds wednsday wensday", "thursday thu thur thurs",
            "friday fri fridays", "saturday sat satday saterday", "sunday sun sundays",
        )
    )
    for name in names.split()
}  # fmt: skip
_MONTHS = {
    name: n + 1
    for n, names in enumerate(
        [
            "jan january",
            "feb february",
            "mar march",
            "apr april",
            "may",
            "jun june",
            "jul july",
            "aug august",
            "sep sept september",
            "oct october",
            "nov november",
            "dec december",
        ]
    )
    for name in names.split()
}
_DAYS = {
    "today": 0, "tonight": 0, "tonite": 0, "2nite": 0, "tomorrow": 1, "tmrw": 1, "tmr": 1, "tmw": 1, "tomoz": 1,
    "tomorow": 1, "tommorow": 1, "tommorrow": 1, "tomorro": 1, "tomo": 1, "tomoro": 1, "yesterday": -1, "yest": -1,
    "yday": -1, "yesturday": -1, "yestarday": -1, "yesterdy": -1,
}  # fmt: skip
_PARTS = {
    "morning": "morning", "mornin": "morning", "morn": "morning", "forenoon": "morning", "afternoon": "afternoon",
    "arvo": "afternoon", "aft": "afternoon", "evening": "evening", "eve": "evening", "evenin": "evening",
    "night": "night", "nite": "night", "tonight": "night", "tonite": "night", "noon": "noon", "midday": "noon",
    "lunch": "noon", "lunchtime": "noon", "noontime": "noon", "midnight": "midnight", "breakfast": "breakfast",
    "brekkie": "breakfast", "brekky": "breakfast", "dinner": "dinner", "supper": "dinner", "dinnertime": "dinner",
    "suppertime": "dinner", "teatime": "dinner", "bedtime": "bedtime", "dawn": "dawn", "sunrise": "dawn",
    "daybreak": "dawn", "sundown": "dusk", "sunset": "dusk", "dusk": "dusk", "brunch": "brunch",
}  # fmt: skip
_PREPS = words("whens", "preps")
_FILLERS = words("whens", "fillers")


@dataclass(frozen=True)
class When:
    """A time as said: any of a day, a part of the day, an hour; or a span before or after now.

    ``meridiem`` is ``am``, ``pm``, ``24`` or empty; ``day`` an offset in days from today, ``weekday`` 0 for Monday
    with ``week`` -1 for "last", 1 for "next"; ``span_s`` is negative for "ago".
    """

    hour: int | None = None
    minute: int = 0
    meridiem: str = ""
    day: int | None = None
    weekday: int | None = None
    week: int = 0
    date: tuple[int, int] | None = None  #: month, day of month
    part: str = ""
    span_s: float | None = None
    now: bool = False
    prep: str = ""
    words: str = ""
    bare: bool = False  #: nothing but an hour without a colon was said


def time_words() -> frozenset[str]:
    """Return the words with which a time may begin."""
    starts = "now nu right just as starting from in within last next this coming past day night the first early late"
    return frozenset(
        {*_WEEKDAYS, *_MONTHS, *_DAYS, *_PARTS, *_PREPS, *starts.split(), "about", "bout", "another", "over"}
    )


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
        if span is not None and not _is_brine_word(tokens, span[1]):
            return When(span_s=span[0]), span[1]
        return None
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


def _is_brine_word(tokens: Sequence[Token], j: int) -> bool:
    """True where "in 2 hours brine" or the like is a duration, not a moment."""
    return text_at(tokens, j) in {"brine"}


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
    if found is None or found[0].kind != "time":
        return None
    quantity, j = found
    if text_at(tokens, j) == "or" and text_at(tokens, j + 1) in {"so", "thereabouts"}:
        j += 2
    if text_at(tokens, j) in {"ish", "max", "tops"}:
        j += 1
    return quantity.value, j


def read_span(tokens: Sequence[Token], i: int) -> tuple[float, int] | None:
    """Read a duration in seconds at ``i``."""
    return _span(tokens, i)


def _absolute(tokens: Sequence[Token], i: int, prep: str) -> tuple[When, int] | None:
    """Collect hour, day and part of the day, in any order, each at most once."""
    when, j, parts = When(), i, 0
    while j < len(tokens) and parts < 4:
        k = j
        while parts and k < j + 2 and text_at(tokens, k) in _FILLERS:
            k += 1
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
        clock = _clock(tokens, i, prep)
        if clock is not None:
            return replace(when, hour=clock[0].hour, minute=clock[0].minute, meridiem=clock[0].meridiem), clock[1]
    day = _day(tokens, i)
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
    part = _part(tokens, i, when, prep)
    if part is not None and not when.part:
        return replace(when, part=part[0]), part[1]
    if when.hour is None:
        bare = _bare_hour(tokens, i, when, prep, more)
        if bare is not None:
            return replace(when, hour=bare[0], meridiem=bare[1]), bare[2]
    return None


def _meridiem(tokens: Sequence[Token], j: int) -> tuple[str, int]:
    word = text_at(tokens, j)
    if word in {"am", "pm"}:
        return word, j + 1
    if word in {"a", "p"} and j < len(tokens) and tokens[j].glued and text_at(tokens, j + 1) != "/":
        return word + "m", j + 1
    if word in {"ish", "'ish"}:
        return _meridiem(tokens, j + 1)
    return "", j


def _clock(tokens: Sequence[Token], i: int, prep: str) -> tuple[When, int] | None:
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
    return _worded_clock(tokens, i)


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
    day_follows = _day(tokens, j) is not None or _part(tokens, j, When(), "") is not None
    if not (meridiem or day_follows or prep in {"at", "since", "till", "until", "by", "kl", "@"}):
        return None
    if read_quantity(tokens, i) and read_quantity(tokens, i)[0].kind != "bare":  # type: ignore[index]
        return None
    return _checked(int(hour), int(minute), meridiem or ("24" if int(hour) > 12 or hour[0] == "0" else ""), j)


def _military(tokens: Sequence[Token], i: int, prep: str, meridiem: str, j: int) -> tuple[When, int] | None:
    text = tokens[i].text.zfill(4)
    hour, minute = int(text[:2]), int(text[2:])
    suffix = text_at(tokens, j) in {"h", "hrs", "hours", "hr"}
    day_follows = _day(tokens, j) is not None
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
    spoken = _small_hour(tokens, i)
    if spoken is None:
        return None
    meridiem, j = _meridiem(tokens, i + 1)
    if meridiem:
        return _checked(spoken, 0, meridiem, j)
    if text_at(tokens, i + 1) in {"o'clock", "oclock"}:
        meridiem, j = _meridiem(tokens, i + 2)
        return _checked(spoken, 0, meridiem, j)
    return _spoken_minutes(tokens, i, spoken) or _past_to(tokens, i)


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
    if not meridiem and _part(tokens, j, When(hour=hour), "") is None and _day(tokens, j) is None:
        return None
    return _checked(hour, int(found[0].value), meridiem, j)


def _unit_free(tokens: Sequence[Token], j: int) -> bool:
    return (
        j >= len(tokens)
        or tokens[j].kind in {"end"}
        or text_at(tokens, j) in _FILLERS
        or _part(tokens, j, When(hour=1), "") is not None
        or _day(tokens, j) is not None
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


def _day(tokens: Sequence[Token], i: int) -> tuple[When, int] | None:
    word = text_at(tokens, i)
    if word in _DAYS:
        return When(day=_DAYS[word], part="night" if word in {"tonight", "tonite", "2nite"} else ""), i + 1
    phrase = _day_phrase(tokens, i)
    if phrase is not None:
        return phrase
    week = {"last": -1, "next": 1, "this": 0, "coming": 0, "past": -1}.get(word)
    k = i + 1 if week is not None else i
    name = text_at(tokens, k)
    if name in _WEEKDAYS and not (name in {"sun", "sat", "mon", "wed"} and not _day_like(tokens, k)):
        j = (
            k + 2
            if name in {"sat", "sun", "fri", "mon", "tue", "tues", "wed", "thu", "thurs"} and _dot(tokens, k + 1)
            else k + 1
        )
        return When(weekday=_WEEKDAYS[name], week=week or 0), j
    if week == -1 and name in {"night", "nite", "evening", "eve"}:
        return When(day=-1, part="night" if name in {"night", "nite"} else "evening"), k + 1
    if word == "this" and name in _PARTS:
        return When(day=0, part=_PARTS[name]), k + 1
    return _date(tokens, i)


def _dot(tokens: Sequence[Token], j: int) -> bool:
    return text_at(tokens, j) == "." and tokens[j].glued and j + 1 < len(tokens)


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


def _day_phrase(tokens: Sequence[Token], i: int) -> tuple[When, int] | None:
    words = [text_at(tokens, i + n) for n in range(4)]
    if words[:3] == ["day", "after", words[2]] and words[2] in {
        "tomorrow",
        "tmrw",
        "tmr",
        "tomorow",
        "tommorow",
    }:
        return When(day=2), i + 3
    if words[0] == "the" and words[1] in {"day", "night"}:
        inner = _day_phrase(tokens, i + 1)
        return inner
    if words[:2] == ["day", "before"] and words[2] in {"yesterday", "yest"}:
        return When(day=-2), i + 3
    if words == ["night", "before", "last", words[3]]:
        return When(day=-2, part="night"), i + 3
    if words[:2] == ["the", "other"]:
        return None
    return None


def _date(tokens: Sequence[Token], i: int) -> tuple[When, int] | None:
    """Read ``sept 12``, ``12th of september``."""
    word = text_at(tokens, i)
    if word in _MONTHS and i + 1 < len(tokens) and tokens[i + 1].text.isdigit():
        day = int(tokens[i + 1].text)
        if 1 <= day <= 31 and word not in {"may", "mar"} | set():
            j = i + 3 if text_at(tokens, i + 2) in {"st", "nd", "rd", "th"} else i + 2
            return When(date=(_MONTHS[word], day)), j
    if word.isdigit() and len(word) <= 2 and 1 <= int(word) <= 31:
        j = i + 2 if text_at(tokens, i + 1) in {"st", "nd", "rd", "th"} else i + 1
        j += text_at(tokens, j) == "of"
        name = text_at(tokens, j)
        if name in _MONTHS and name not in {"may", "mar"}:
            return When(date=(_MONTHS[name], int(word))), j + 1
    return None


def _part(tokens: Sequence[Token], i: int, when: When, prep: str) -> tuple[str, int] | None:
    word = text_at(tokens, i)
    if word in {"in", "the"} or (word == "first" and text_at(tokens, i + 1) == "thing"):
        return _part_phrase(tokens, i)
    if word == "first" and text_at(tokens, i + 1) == "light":
        return "dawn", i + 2
    if word == "early" and text_at(tokens, i + 1) in _PARTS:
        return _part(tokens, i + 1, when, prep)
    if word == "late" and text_at(tokens, i + 1) in _PARTS:
        return _part(tokens, i + 1, when, prep)
    if word not in _PARTS:
        return None
    part = _PARTS[word]
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
        return _PARTS[words[2]], i + 3
    if skip == 2 and words[2] in {"wee", "small", "early"} and words[3] in {"hours", "morning"}:
        return "small_hours", i + 4
    return None


def is_duration(quantity: Quantity) -> bool:
    """True if the quantity is a span of time."""
    return quantity.kind == "time"


def _bare_hour(tokens: Sequence[Token], i: int, when: When, prep: str, more: bool) -> tuple[int, str, int] | None:
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
        if text_at(tokens, k) == "in" and _part(tokens, k, When(hour=1), prep) is not None:
            return True
        k += 1
    if _day(tokens, k) is not None and not text_at(tokens, k).isdigit():
        return True
    return text_at(tokens, k) in {"morning", "evening", "afternoon", "night", "noon"}
