"""The form of ``demo_conversations/*.chat``: a conversation as people would write it down.

::

    # One line that says what this conversation shows.
    zone: America/Vancouver
    units: us
    quiet: 22:30-06:30

    Fri 2026-09-11 17:40            the first moment, with its date
    ida> 4 lb coho fillets          somebody writes; "    | " continues on the next line
    bell> Got it…                   what is said, word for word; "…" is any run of text
        | Weigh…                    a further line of the same message
        [Done] [Later]              its buttons, all of them (optional)
    facts> plan yield_pct=70~10     a fact of that message
    17:52                           later the same day, or the next
    ida presses [Done]
    nothing>                        nothing is said
    ... till Sat 06:30              time passes
    bell 06:30> Pull…               said at that time
    facts> reminder what=pull       without a "bell>" before it: a message that has this fact
    …                               alone: any further messages, or none
    ida sends fish.jpg: before rinsing

Every message must be mentioned, in order: a conversation that says more, less or something else
than the file does not pass.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from bot.complaints import WrongCall
from bot.doors.moments import WHEN, next_moment
from bot.doors.steps import Habits, Sent, Step, Tick
from bot.doors.wanted import Clock, WantedFact, clock, wanted_fact
from bot.settings import known_zone, quiet_hours

#: The one chat of a written conversation.
CHAT = "demo"

_TILL = re.compile(r"(?:\.\.\.|…)\s*till\s+(.+)")
_SAID = re.compile(r"bell(?:\s+([^>]+))?>\s?(.*)")
_PRESSES = re.compile(r"(\w+)\s+presses\s+\[([^\]]+)\]")
_SENDS = re.compile(r"(\w+)\s+sends\s+([^\s:]+)(?::\s*(.*))?")
_WRITES = re.compile(r"(\w+)>\s?(.*)")
_BUTTON = re.compile(r"\[([^\]]+)\]")
_MORE = re.compile(r"\s+\|\s?(.*)")


@dataclass(frozen=True)
class Expected:
    """A message that is expected; what is None is not looked at."""

    line: int
    text: str | None = None
    at: Clock | None = None
    buttons: tuple[str, ...] | None = None
    facts: tuple[WantedFact, ...] = ()
    #: Any number of messages, none too.
    rest: bool = False


@dataclass(frozen=True)
class Part:
    """One step and the messages expected before the next one."""

    line: int
    step: Sent | Tick
    expected: tuple[Expected, ...] = ()


@dataclass(frozen=True)
class Demo:
    """A whole file: what it shows, its habits, its parts."""

    path: Path
    shows: str
    habits: Habits
    parts: tuple[Part, ...]

    @property
    def zone(self) -> ZoneInfo:
        """The zone in which its times are written."""
        return ZoneInfo(self.habits.zone or "UTC")

    def steps(self) -> Iterator[Step]:
        """The same as a replay takes it."""
        yield self.habits
        yield from (part.step for part in self.parts)


def read_demo(path: Path) -> Demo:
    """Read a file; raises WrongCall naming file, line and what is wrong."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "not UTF-8"
        hint = "type 'brinebell replay demo_conversations/*'"
        raise WrongCall(f"{path} cannot be read: {reason}; {hint}") from error
    reader = _Reader(path)
    for number, line in enumerate(text.splitlines(), start=1):
        try:
            reader.take(number, line)
        except ValueError as error:
            raise WrongCall(f"{path} line {number}: {error}") from error
    return reader.finish()


@dataclass
class _Reader:
    path: Path
    shows: str = ""
    habits: Habits = field(default_factory=lambda: Habits(zone="UTC"))
    now: datetime | None = None
    parts: list[Part] = field(default_factory=list)
    #: What a "    | " line continues: "sent", "said" or nothing.
    open: str = ""

    def take(self, number: int, line: str) -> None:
        """One line of the file."""
        stripped = line.strip()
        more = _MORE.fullmatch(line)
        if more is not None:
            self._continue(more[1])
        elif stripped.startswith("#"):
            self.shows = self.shows or stripped.lstrip("# ")
        elif stripped:
            self.open = ""
            self._take_kind(number, stripped)

    def finish(self) -> Demo:
        """The whole, once the last line is in."""
        if not self.shows:
            raise WrongCall(f"{self.path} line 1: begin with '# ' and a line that says what it shows")
        return Demo(self.path, self.shows, self.habits, tuple(self.parts))

    def _take_kind(self, number: int, line: str) -> None:
        if when := WHEN.fullmatch(line):
            self._pass_time(number, when)
        elif till := _TILL.fullmatch(line):
            self._till(number, till[1])
        elif self.now is None:
            self._header(line)
        elif said := _SAID.fullmatch(line):
            self._expect(Expected(number, text=said[2], at=_said_at(said[1])), "said")
        elif line.startswith("facts>"):
            self._facts(number, line.removeprefix("facts>").strip())
        elif line in ("…", "..."):
            self._expect(Expected(number, rest=True), "")
        elif line.startswith("nothing>"):
            self._nothing()
        elif line.startswith("["):
            self._buttons(line)
        else:
            self._somebody(number, line)

    def _header(self, line: str) -> None:
        key, colon, value = (part.strip() for part in line.partition(":"))
        if not colon or key not in ("zone", "units", "quiet"):
            raise ValueError(f"{line[:60]!r} before the first moment; write zone:, units:, quiet: or that moment")
        if key == "zone":
            self.habits = replace(self.habits, zone=known_zone(value))
        elif key == "quiet":
            self.habits = replace(self.habits, quiet=quiet_hours(value))
        elif value in ("us", "metric"):
            self.habits = replace(self.habits, units=value)
        else:
            raise ValueError("units: us or metric")

    def _till(self, number: int, written: str) -> None:
        when = WHEN.fullmatch(written)
        if when is None:
            raise ValueError(f"{written!r} is no moment; write '... till Sat 06:30'")
        self._pass_time(number, when)

    def _pass_time(self, number: int, when: re.Match[str]) -> None:
        self.now = next_moment(when, self.now, ZoneInfo(self.habits.zone or "UTC"))
        self.parts.append(Part(number, Tick(self.now)))

    def _somebody(self, number: int, line: str) -> None:
        assert self.now is not None
        if pressed := _PRESSES.fullmatch(line):
            sent = Sent(self.now, CHAT, pressed[1], press=pressed[2])
        elif photo := _SENDS.fullmatch(line):
            sent = Sent(self.now, CHAT, photo[1], text=photo[3] or "", photo=photo[2])
        elif wrote := _WRITES.fullmatch(line):
            sent = Sent(self.now, CHAT, wrote[1], text=wrote[2])
            self.open = "sent"
        else:
            raise ValueError(f"cannot read {line[:60]!r}; write 'ida> …', 'bell> …', 'facts> …' or a moment")
        self.parts.append(Part(number, sent))

    def _expect(self, expected: Expected, opens: str) -> None:
        part = self.parts[-1]
        self.parts[-1] = replace(part, expected=(*part.expected, expected))
        self.open = opens

    def _facts(self, number: int, written: str) -> None:
        fact = wanted_fact(number, written)
        part = self.parts[-1]
        last = part.expected[-1] if part.expected else None
        if last is None or last.rest:
            self._expect(Expected(number, at=fact.at, facts=(fact,)), "")
        else:
            self._change_last(replace(last, facts=(*last.facts, fact), at=last.at or fact.at))

    def _buttons(self, line: str) -> None:
        part = self.parts[-1]
        if _BUTTON.sub("", line).strip() or not part.expected or part.expected[-1].rest:
            raise ValueError("a line of [buttons] follows the 'bell>' that it belongs to")
        self._change_last(replace(part.expected[-1], buttons=tuple(_BUTTON.findall(line))))

    def _nothing(self) -> None:
        if self.parts[-1].expected:
            raise ValueError("'nothing>' where something is expected already")

    def _continue(self, text: str) -> None:
        part = self.parts[-1] if self.parts else None
        if part is not None and self.open == "sent" and isinstance(part.step, Sent):
            step = replace(part.step, text=f"{part.step.text}\n{text}")
            self.parts[-1] = replace(part, step=step)
        elif part is not None and self.open == "said":
            last = part.expected[-1]
            self._change_last(replace(last, text=f"{last.text}\n{text}"))
        else:
            raise ValueError("'    | ' continues a line of somebody's, and there is none before it")

    def _change_last(self, expected: Expected) -> None:
        part = self.parts[-1]
        self.parts[-1] = replace(part, expected=(*part.expected[:-1], expected))


def _said_at(written: str | None) -> Clock | None:
    if written is None:
        return None
    at = clock(written.strip())
    if at is None:
        raise ValueError(f"{written!r} is no time; write 'bell 06:30> …'")
    return at
