"""What tomorrow holds, in a few lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from bot.crew import Duty
from bot.say.crew import on_till
from bot.say.format import Pen

#: More lines than this are a plan, and that can be shown.
_MOST = 6

NOTE_OFF = 'no more evening notes ("evening note on" brings them back)'
NOTE_ON = "I'll tell you in the evening what the next day holds"


@dataclass(frozen=True)
class Call:
    """Something that wants a person: when, what, of which batch (empty for none)."""

    at: datetime
    what: str
    batch: str


def evening_words(calls: Sequence[Call], duty: Duty | None, pen: Pen, *, several: bool) -> str:
    """The first thing tomorrow, then the rest of the day."""
    first, *later = calls
    lines = [f"Tomorrow from {pen.time(first.at)}: {_what(first, several)}."]
    lines += [f"{pen.time(call.at)} {_what(call, several)}" for call in later[: _MOST - 1]]
    if len(later) >= _MOST:
        lines.append(f"And {len(later) - _MOST + 1} more.")
    if duty is not None:
        lines.append(on_till(duty, pen.clock(duty.until)))
    return "\n".join(lines)


def _what(call: Call, several: bool) -> str:
    return f"{call.batch}, {call.what}" if several and call.batch else call.what
