"""Read words that are nothing but a time to come: "till 6", "in 20", "tomorrow morning"."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from bot.understanding.model import Context
from bot.understanding.moments import Frame, resolve
from bot.understanding.text import plain
from bot.understanding.tokens import tokens
from bot.understanding.when import When
from bot.understanding.whens import read_when

_BARE_HOUR = re.compile(r"(?:(?:till|until|at|by|around|about|til) )*(\d{1,2})(?: o'?clock)?")
_BARE_MINUTES = re.compile(r"in (?:about )?(\d{1,3})")
_REACH_H = 48.0


def moment_ahead(said: str, context: Context) -> datetime | None:
    """Return the soonest moment from now on that ``said`` can mean, aware; None where it is no such time."""
    words = " ".join(said.casefold().replace("'til", "till").strip(" .!,").split())
    words = re.sub(r"^for (?:the next )?", "in ", words)
    when = _when(words)
    if when is None:
        return None
    frame = Frame(context.now, ZoneInfo(context.zone), "future", reach_h=_REACH_H)
    ahead = [m for m in resolve(when, frame).moments if m.astimezone(UTC) > context.now + timedelta(seconds=30)]
    return min(ahead, default=None)


def _when(words: str) -> When | None:
    if minutes := _BARE_MINUTES.fullmatch(words):
        return When(span_s=int(minutes[1]) * 60.0)
    if hour := _BARE_HOUR.fullmatch(words):
        value = int(hour[1])
        return When(hour=value % 24, meridiem="24" if value > 12 or value == 0 else "") if value <= 24 else None
    found = tokens(plain(words).text)
    read = read_when(found, 0)
    return read[0] if read is not None and read[1] == len(found) else None
