"""What the scheduler asks of a messenger, and how a messenger says that something went wrong."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from scheduler.outbox import Outgoing


@dataclass(frozen=True)
class Sent:
    """A message that the messenger has taken. ``id`` is the messenger's own; None where it has none."""

    id: str | None = None


class Messenger(Protocol):
    """Something that can send.

    Every call returns once the messenger has taken the message, or raise one of the errors below;
    any other exception means that the message has surely not arrived and is worth another try.
    """

    async def send(self, out: Outgoing) -> Sent:
        """Send a message with its buttons and files.

        A button's data, as the messenger carries it, must bring back ``Tap(message=out.id,
        index=place of the button)`` when pressed.
        """

    async def edit(self, out: Outgoing) -> Sent:
        """Put ``out`` in the place of the message ``out.replaces``. "Nothing changed" is success.

        Raises Refused where that message cannot be edited any more: then it is sent afresh.
        """

    async def pin(self, chat: str, message: str) -> None:
        """Pin a message, quietly. One that is pinned already is success. Raises NotAllowed."""

    async def unpin(self, chat: str, message: str) -> None:
        """Unpin a message; Refused where that cannot be done, or is not needed."""

    async def close(self) -> None:
        """Let go of connections. Nothing is sent afterwards."""


class SendError(Exception):
    """A message was not sent, or perhaps not. The text must hold no token and no words of people."""


class RetryAfter(SendError):
    """The messenger wants this chat left alone for ``seconds``."""

    def __init__(self, seconds: float) -> None:
        super().__init__(f"asked to wait {seconds:g} s")
        self.seconds = seconds


class Unsure(SendError):
    """No answer came: the message may have arrived or not."""


class ChatGone(SendError):
    """Nobody can be reached in this chat: the bot was blocked or removed."""


class ChatMoved(SendError):
    """The chat has a new id."""

    def __init__(self, new_id: str) -> None:
        super().__init__("the chat has a new id")
        self.new_id = new_id


class Refused(SendError):
    """The messenger will never take this message as it is."""


class NotAllowed(Refused):
    """The messenger would do it, but the bot has not the right to."""
