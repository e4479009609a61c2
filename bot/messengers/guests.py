"""Which chats are served, as the allow list, the invite word and the store say."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from datetime import datetime, timedelta

from bot.doorkeeper import Doorkeeper, Ruling
from bot.messengers.updates import Incoming
from scheduler.clock import Clock
from scheduler.errors import Conflict
from scheduler.store import Store

#: How long the store's word that a chat was let in is taken without asking it again.
TRUSTED = timedelta(minutes=10)


class Guests:
    """Asks the door and remembers in the store whom it let in (``Chat.welcome``)."""

    def __init__(self, store: Store, clock: Clock, door: Doorkeeper) -> None:
        self._store = store
        self._clock = clock
        self._door = door
        self._known: dict[str, datetime] = {}

    async def rule(self, incoming: Incoming) -> Ruling:
        """What to do with a message; a chat that gave the invite word is let in by this."""
        known = await self.serves(incoming.chat)
        ruling = self._door.rule(incoming.chat, incoming.sender, incoming.offered, self._clock.now(), known=known)
        if ruling is Ruling.WELCOME:
            await self.welcome(incoming.chat)
        return ruling

    def without_invite(self, incoming: Incoming) -> Incoming:
        """The invite word means "let me in", and is nothing to be kept."""
        return replace(incoming, text="start") if self._door.is_invite(incoming.text) else incoming

    async def serves(self, chat: str) -> bool:
        """Whether a chat is served."""
        now = self._clock.now()
        if chat in self._door.allowed or self._trusted(chat, now):
            return True
        seen = await self._store.snapshot(chat, now)
        if seen.version and seen.chat.welcome:
            self._known[chat] = now
        return self._trusted(chat, now)

    async def welcome(self, chat: str) -> None:
        """Let a chat in for good."""
        now = self._clock.now()
        while not self._trusted(chat, now):
            seen = await self._store.snapshot(chat, now)
            # Another worker may have kept a turn of this chat meanwhile: then look again.
            with contextlib.suppress(Conflict):
                await self._store.put_chat(replace(seen.chat, welcome=True), now)
                self._known[chat] = now

    def forget(self, chat: str) -> None:
        """A chat has asked to be forgotten: ask the store again."""
        self._known.pop(chat, None)

    def _trusted(self, chat: str, now: datetime) -> bool:
        return chat in self._known and now - self._known[chat] < TRUSTED
