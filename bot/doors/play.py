"""Play steps in simulated time: the same store, runner and words as live, on a clock that is moved."""

from __future__ import annotations

from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from bot.doors.answering import Reporting
from bot.doors.said import Said
from bot.doors.steps import Habits, Sent, Step, Tick
from bot.doors.words import sorry
from scheduler import messenger
from scheduler.arrivals import Arrival, Tap
from scheduler.clock import FakeClock
from scheduler.outbox import Outgoing
from scheduler.runner import Runner
from scheduler.store import Store
from scheduler.turn import Answering, Chat, Due, Inbound, Outcome, Photo

#: What is heard in a message whose handling came to nothing.
NOTHING_HEARD: Mapping[str, Any] = {"intent": "chat", "slots": {}}
#: Before the first moment of a conversation.
LONG_AGO = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Played:
    """What came of a step: what fell due before it, what was heard in it, what was said to it."""

    due: tuple[Said, ...] = ()
    heard: Mapping[str, Any] | None = None
    said: tuple[Said, ...] = ()


@dataclass
class Recorder:
    """A messenger that keeps what is sent, with the moment."""

    clock: FakeClock
    _said: list[Said] = field(default_factory=list)

    async def send(self, out: Outgoing) -> messenger.Sent:
        """Keep it."""
        self._said.append(as_said(out, self.clock.now()))
        return messenger.Sent(str(out.id))

    async def edit(self, out: Outgoing) -> messenger.Sent:
        """Keep it; nothing is edited in a written conversation."""
        return await self.send(out)

    async def pin(self, chat: str, message: str) -> None:
        """Nothing is pinned here: "what's on" says the same."""

    async def unpin(self, chat: str, message: str) -> None:
        """Nothing is pinned here."""

    async def close(self) -> None:
        """Nothing to let go of."""

    def take(self) -> tuple[Said, ...]:
        """What was sent since the last time."""
        said, self._said = tuple(self._said), []
        return said


def as_said(out: Outgoing, at: datetime) -> Said:
    """An outgoing message as doors show it."""
    message = out.message
    labels = tuple(button.label for button in message.buttons)
    return Said(at, out.chat, message.text, labels, message.facts, message.files)


class Habitual:
    """The habits of each chat as the steps set them, those for all first."""

    def __init__(self) -> None:
        self._all = Habits()
        self._one: dict[str, Habits] = {}

    def learn(self, habits: Habits) -> None:
        """Take a settings step in; one for every chat overrules what was said for one before."""
        if habits.chat is None:
            self._all = _over(self._all, habits)
            self._one = {chat: _over(one, habits) for chat, one in self._one.items()}
        else:
            self._one[habits.chat] = _over(self._one.get(habits.chat, Habits()), habits)

    def chat(self, name: str) -> Chat:
        """A chat that is new, with its habits."""
        return self.applied(Chat(name))

    def applied(self, chat: Chat) -> Chat:
        """The chat with the habits that were set for it."""
        habits = _over(self._all, self._one.get(chat.id, Habits()))
        return replace(
            chat,
            zone=habits.zone or chat.zone,
            units=habits.units or chat.units,
            quiet=habits.quiet or chat.quiet,
        )


def _over(below: Habits, above: Habits) -> Habits:
    return Habits(
        chat=above.chat,
        zone=above.zone or below.zone,
        units=above.units or below.units,
        quiet=above.quiet or below.quiet,
    )


class Play:
    """A conversation being played. Make one with :func:`playing`."""

    def __init__(self, store: Store, answering: Answering, clock: FakeClock, habitual: Habitual) -> None:
        self._store = store
        self._clock = clock
        self._habitual = habitual
        self._recorder = Recorder(clock)
        self._runner = Runner(store, answering, self._recorder, clock, sorry=sorry, watch=self._listen)
        self._heard: Mapping[str, Any] | None = None
        self._chats: set[str] = set()
        self._zones: dict[str, str] = {}
        self._count = 0

    async def take(self, step: Step) -> Played:
        """Do one step; time passes as far as it says."""
        if isinstance(step, Habits):
            await self._settings(step)
            return Played()
        await self._runner.advance_to(step.at)
        due = self._recorder.take()
        if isinstance(step, Tick):
            return Played(due)
        self._heard = None
        self._chats.add(step.chat)
        await self._store.take_in([self._arrival(step)])
        await self._runner.settle()
        return Played(due, self._heard or NOTHING_HEARD, self._recorder.take())

    def zone(self, chat: str) -> ZoneInfo:
        """The zone of a chat by now; a person may have changed it."""
        return ZoneInfo(self._zones.get(chat) or self._habitual.chat(chat).zone)

    async def _settings(self, habits: Habits) -> None:
        self._habitual.learn(habits)
        now = self._clock.now()
        for name in self._chats if habits.chat is None else self._chats & {habits.chat}:
            chat = self._changed((await self._store.snapshot(name, now)).chat, habits)
            await self._store.put_chat(chat, now)
            self._zones[name] = chat.zone

    @staticmethod
    def _changed(chat: Chat, habits: Habits) -> Chat:
        only = Habitual()
        only.learn(replace(habits, chat=None))
        return only.applied(chat)

    def _arrival(self, sent: Sent) -> Arrival:
        self._count += 1
        inbound = Inbound(
            key=f"step {self._count}",
            chat=sent.chat,
            sender=sent.sender,
            sender_name=sent.sender,
            at=sent.at,
            text=sent.text,
            photo=Photo(sent.photo) if sent.photo is not None else None,
        )
        return Arrival(inbound, Tap(label=sent.press) if sent.press is not None else None)

    def _listen(self, about: Inbound | Due, outcome: Outcome) -> None:
        if isinstance(about, Inbound):
            self._heard = outcome.heard
        if outcome.forget:
            self._zones.pop(about.chat, None)
        elif outcome.chat is not None:
            self._zones[about.chat] = outcome.chat.zone


@asynccontextmanager
async def playing(answering: Answering) -> AsyncIterator[Play]:
    """A fresh conversation on a database that is thrown away at the end."""
    clock, habitual = FakeClock(LONG_AGO), Habitual()
    store = await Store.open("", throwaway=True, new_chat=habitual.chat, clock=clock)
    try:
        yield Play(store, Reporting(answering), clock, habitual)
    finally:
        await store.close()
