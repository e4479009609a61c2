"""A conversation for people to read, in the form of ``demo_conversations/*.chat``.

What is printed can be read back: it is a demo file of the same conversation.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from zoneinfo import ZoneInfo

from bot.doors.said import Said
from bot.doors.steps import Habits, Sent

#: How much of a text is shown; nobody reads on, and a terminal suffers.
LONGEST = 4000

_LINE_ENDS = re.compile(r"\r\n|[\n\r\v\f\x1c-\x1e\x85\u2028\u2029]")
#: What a terminal might obey rather than show.
_CONTROLS = re.compile(r"[\x00-\x08\x0e-\x1f\x7f-\x9f]")


class Readable:
    """Turns messages into lines, with a line for the time wherever it has changed."""

    def __init__(self) -> None:
        self._shown: datetime | None = None
        self._chat: str | None = None

    @staticmethod
    def title(shows: str) -> Iterator[str]:
        """What the conversation shows."""
        yield f"# {shows}"

    def habits(self, habits: Habits) -> Iterator[str]:
        """Settings for all, as the head of a file has them; said later or for one chat, a comment."""
        written = {
            "zone": habits.zone,
            "units": habits.units,
            "quiet": "-".join(habits.quiet) if habits.quiet else None,
        }
        lines = [f"{name}: {value}" for name, value in written.items() if value]
        if self._shown is not None or habits.chat is not None:
            lines = [f"# {habits.chat or 'every chat'}: {line}" for line in lines]
        yield from lines

    def sent(self, sent: Sent, zone: ZoneInfo) -> Iterator[str]:
        """What a person sent."""
        yield from self._heading(sent.at, sent.chat, zone)
        name = re.sub(r"\W+", "_", sent.sender)
        if sent.press is not None:
            yield f"{name} presses [{sent.press}]"
        elif sent.photo is not None:
            yield f"{name} sends {sent.photo}" + (f": {sent.text}" if sent.text else "")
        else:
            yield from _spoken(name, sent.text)

    def said(self, said: Said, zone: ZoneInfo) -> Iterator[str]:
        """What the tool said."""
        yield from self._heading(said.at, said.chat, zone)
        yield from _spoken("bell", said.text)
        if said.buttons:
            yield "    " + " ".join(f"[{label}]" for label in said.buttons)
        yield from (f"    # file: {file}" for file in said.files)

    def _heading(self, at: datetime, chat: str, zone: ZoneInfo) -> Iterator[str]:
        local = at.astimezone(zone)
        before = self._shown.astimezone(zone) if self._shown else None
        if before is None:
            yield ""
            yield f"{local:%a %Y-%m-%d %H:%M}"
        elif f"{local:%Y-%m-%d %H:%M}" != f"{before:%Y-%m-%d %H:%M}":
            yield ""
            yield _when(local, before)
        self._shown = at
        if self._chat not in (None, chat):
            yield f"# in chat {chat}"
        self._chat = chat


def _when(local: datetime, before: datetime) -> str:
    """As short as it can be told and still be read back."""
    days = (local.date() - before.date()).days
    if days == 0:
        return f"{local:%H:%M}"
    return f"{local:%a %H:%M}" if days < 7 else f"{local:%a %Y-%m-%d %H:%M}"


def _spoken(name: str, text: str) -> Iterator[str]:
    shown = text if len(text) <= LONGEST else f"{text[:LONGEST]}…"
    first, *more = (_CONTROLS.sub("\N{REPLACEMENT CHARACTER}", line) for line in _LINE_ENDS.split(shown))
    yield f"{name}> {first}"
    yield from (f"    | {line}" for line in more)
