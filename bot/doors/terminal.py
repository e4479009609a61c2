"""The messenger at the near end: what is typed comes in, what is said is printed."""

from __future__ import annotations

import getpass
import re
import uuid
from collections.abc import Callable, Sequence
from pathlib import Path

from bot.doors.said import Said
from scheduler import messenger
from scheduler.arrivals import Arrival, Tap
from scheduler.clock import Clock
from scheduler.outbox import Outgoing
from scheduler.turn import Due, Inbound, Outcome, Photo

#: The conversation of this terminal.
CHAT = "terminal"

_CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")
_BUTTON = re.compile(r"/(\d{1,2})")
_PHOTO = re.compile(r"/photo\s+(\S+)\s*(.*)", re.DOTALL)


class Terminal:
    """Shows messages through ``show``, remembers the buttons that ``/1`` presses."""

    def __init__(self, clock: Clock, folder: Path, show: Callable[[Said], None]) -> None:
        self._clock = clock
        self._folder = folder
        self._show = show
        self._last: Outgoing | None = None

    async def send(self, out: Outgoing) -> messenger.Sent:
        """Show a message."""
        if out.message.buttons:
            self._last = out
        labels = tuple(button.label for button in out.message.buttons)
        files = tuple(str(self._folder / name) for name in out.message.files)
        said = Said(self._clock.now(), out.chat, out.message.text, labels, files=files)
        self._show(said)
        return messenger.Sent(str(out.id))

    async def edit(self, out: Outgoing) -> messenger.Sent:
        """What is printed stays printed: the new form is shown below."""
        return await self.send(out)

    async def pin(self, chat: str, message: str) -> None:
        """Nothing is pinned here: "what's on" says the same."""

    async def unpin(self, chat: str, message: str) -> None:
        """Nothing is pinned here."""

    async def close(self) -> None:
        """Nothing to let go of."""

    def arrival(self, line: str) -> Arrival:
        """A typed line as it comes in: ``/2`` presses a button, ``/photo PATH words`` sends a picture.

        Raises ValueError with a line for the person where that cannot be done.
        """
        key = f"terminal {uuid.uuid4().hex}"
        if pressed := _BUTTON.fullmatch(line.strip()):
            return Arrival(self._inbound(key), self._tap(int(pressed[1])))
        if photo := _PHOTO.fullmatch(line.strip()):
            return Arrival(self._inbound(key, photo[2], Photo(self._keep(photo[1], key))))
        return Arrival(self._inbound(key, line))

    def heed(self, about: Inbound | Due, outcome: Outcome) -> None:
        """What the store has forgotten is not to be found beside it either."""
        if outcome.forget:
            from bot.messengers.album import Album

            Album(self._folder).forget(about.chat)

    def _inbound(self, key: str, text: str = "", photo: Photo | None = None) -> Inbound:
        who = user()
        return Inbound(key, CHAT, who, self._clock.now(), text, photo=photo, sender_name=who)

    def _tap(self, number: int) -> Tap:
        last = self._last
        if last is None or not 1 <= number <= len(last.message.buttons):
            raise ValueError(f"there is no button {number}; type its word instead")
        return Tap(last.message.buttons[number - 1].label, last.id, number - 1)

    def _keep(self, name: str, key: str) -> str:
        from bot.messengers.album import Album
        from bot.messengers.pictures import NotAPicture

        try:
            return Album(self._folder).keep(CHAT, key, Path(name).expanduser().read_bytes())
        except OSError as error:
            raise ValueError(f"{name} cannot be read: {error.strerror}") from error
        except NotAPicture as error:
            raise ValueError(f"{name} cannot be taken: {error}") from error


def user() -> str:
    """Who sits at this terminal."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "you"


def plain_lines(said: Said, *, numbered: bool) -> list[str]:
    """A message for a terminal, with nothing in it that a terminal would obey."""
    lines = _CONTROLS.sub("\N{REPLACEMENT CHARACTER}", said.text).split("\n")
    if said.buttons:
        lines.append(_buttons(said.buttons, numbered))
    return lines + [f"(file: {file})" for file in said.files]


def _buttons(labels: Sequence[str], numbered: bool) -> str:
    shown = [f"/{place} {label}" if numbered else label for place, label in enumerate(labels, start=1)]
    return " ".join(f"[{label}]" for label in shown)
