"""One turn: what the store hands to whoever answers, and what comes back to be kept.

A message or a due reminder is answered by a pure function from a :class:`Snapshot` to an
:class:`Outcome`. The store commits the whole outcome in one transaction, together with the mark
that the message or reminder is dealt with, or nothing at all.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Protocol

from planner.entries import Entry
from planner.ring import Ring as Ring


@dataclass(frozen=True)
class Chat:
    """A conversation: its habits, and what was just asked of it.

    ``memory`` is small JSON that the talking layer keeps between messages (the pending question,
    the batch in focus). ``welcome`` is False until the chat is on the allow list or gave the
    invite word.
    """

    id: str
    zone: str = "UTC"
    units: str | None = None
    quiet: tuple[str, str] = ("22:30", "06:30")
    welcome: bool = True
    memory: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class BatchFile:
    """A batch and its journal. ``number`` counts from 1 within the chat."""

    number: int
    name: str
    opened_at: datetime
    closed_at: datetime | None
    entries: tuple[Entry, ...]


@dataclass(frozen=True)
class Taught:
    """What a finished batch taught: its standing lesson, and how many entries its journal has."""

    batch: int
    name: str
    entry: Entry
    length: int


@dataclass(frozen=True)
class Photo:
    """A picture that a person sent, as the messenger named it and where it was put."""

    path: str


@dataclass(frozen=True)
class Inbound:
    """One thing that came in: a text, a pressed button or a photo.

    ``key`` is unique per messenger event (the same event twice has the same key). ``press`` is the
    button that was pressed, already looked up: see :class:`Press`.
    """

    key: str
    chat: str
    sender: str
    at: datetime
    text: str = ""
    press: Press | None = None
    photo: Photo | None = None
    sender_name: str = ""
    chat_kind: str = "private"
    #: True where a person spoke to the bot: alone with it, by its name, by a reply or a command.
    addressed: bool = False


@dataclass(frozen=True)
class Button:
    """A likely next word. ``means`` is JSON that the talking layer reads back when pressed."""

    label: str
    means: Mapping[str, Any]


@dataclass(frozen=True)
class Press:
    """A pressed button: what it means, the message it stood under, and whether it is stale.

    ``taken`` is True where a button of the same message was pressed before.
    ``unknown`` is True where no such button exists in this chat (forged, or deleted).
    """

    label: str
    means: Mapping[str, Any]
    message: int | None
    taken: bool = False
    unknown: bool = False


@dataclass(frozen=True)
class Message:
    """Something to say. ``facts`` says the same once more as data (contract, section 5)."""

    text: str
    buttons: tuple[Button, ...] = ()
    facts: tuple[Mapping[str, Any], ...] = ()
    files: tuple[str, ...] = ()
    urgent: bool = False
    silent: bool = False
    #: A message with a pin key is a card: it replaces, in place, the last one of the same key in this
    #: chat, and is pinned until one comes that is ``over``.
    pin: str | None = None
    over: bool = False


@dataclass(frozen=True)
class Due:
    """A reminder whose time has come. ``again`` counts how often it was rung before."""

    chat: str
    batch: int | None
    ring: Ring
    late_s: float
    again: int
    #: Others of the same batch that fell due unheard and are told with this one (see lateness).
    merged: tuple[Ring, ...] = ()


@dataclass(frozen=True)
class Snapshot:
    """All that an answer may depend on: the chat, its batches (newest last), and the moment."""

    chat: Chat
    batches: tuple[BatchFile, ...]
    now: datetime
    #: Newest first: what was said lately, for "why?" and for buttons typed as words.
    recent: tuple[Message, ...] = ()
    #: Rings of the chat that hang on no batch ("remind me in 20").
    loose: tuple[Ring, ...] = ()
    #: Counts what was committed for this chat: an outcome reckoned from an older one is refused.
    version: int = 0
    #: Lessons of the newest finished batches, whether or not the batches themselves are here; oldest first.
    taught: tuple[Taught, ...] = ()


@dataclass(frozen=True)
class NewBatch:
    """A batch that the answer opens; its number is the next in the chat."""

    number: int
    name: str


@dataclass(frozen=True)
class Outcome:
    """What an answer keeps and says.

    ``entries`` maps a batch number to entries to append, numbered onward from its journal.
    ``rings`` maps a batch number (None for the chat itself) to the whole set of reminders now
    wanted: the store withdraws, adds and moves to match, and leaves batches not named alone.
    ``heard`` is what the message said, for the JSON-lines door; it is not stored.
    """

    chat: Chat | None = None
    opened: tuple[NewBatch, ...] = ()
    closed: tuple[int, ...] = ()
    renamed: Mapping[int, str] = field(default_factory=dict)
    entries: Mapping[int, Sequence[Entry]] = field(default_factory=dict)
    rings: Mapping[int | None, Sequence[Ring]] = field(default_factory=dict)
    messages: tuple[Message, ...] = ()
    heard: Mapping[str, Any] | None = None
    #: True where the person asked for everything about this chat to be deleted.
    forget: bool = False
    #: True where nothing at all may be kept (a chat that is not served).
    keep_nothing: bool = False


class Answering(Protocol):
    """What the talking layer gives to the scheduler: two pure functions."""

    def answer(self, snapshot: Snapshot, inbound: Inbound) -> Outcome:
        """Answer one message, button or photo."""

    def ring(self, snapshot: Snapshot, due: Due) -> Outcome:
        """Say a due reminder with the facts of now, and what to want next."""
