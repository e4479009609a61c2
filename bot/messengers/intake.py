"""What came in, on its way to the store: who is served, which picture was kept, which button pressed."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from telegram import Bot, Update
from telegram.error import TelegramError

from bot.doorkeeper import Ruling
from bot.messengers.album import Album
from bot.messengers.formatting import parse_callback
from bot.messengers.guests import Guests
from bot.messengers.pictures import NotAPicture
from bot.messengers.presses import Presses
from bot.messengers.updates import Incoming, Left, Moved, read
from scheduler.arrivals import Arrival, Cursor, Tap
from scheduler.clock import Clock
from scheduler.store import Store
from scheduler.turn import Inbound, Photo

log = logging.getLogger(__name__)

#: How long pictures may take to come, in seconds, before their messages go on without them.
PICTURE_PATIENCE_S = 20.0
#: Pictures fetched at once: each may be 20 MB, and more when unpacked.
PICTURES_AT_ONCE = 2
#: Lines to strangers and about pictures that are said at once, beside the outbox; more are let be.
ASIDES = 20


#: An update as JSON, as Telegram sends it.
RawUpdate = Mapping[str, Any]


class Words(Protocol):
    """The few lines that the messenger itself says."""

    def not_served(self) -> str:
        """To somebody who is not served."""

    def picture_not_kept(self) -> str:
        """To somebody whose picture could not be fetched, read or kept."""

    def only_words_and_pictures(self) -> str:
        """To somebody who sent a voice note, a film, a file."""

    def card_not_pinned(self) -> str:
        """To a group in which the bot may not pin."""


@dataclass(frozen=True)
class _Brought:
    """An arrival, if anything is left of it, and a line to say beside it."""

    arrival: Arrival | None
    aside: str | None = None


class Intake:
    """Takes updates in: everything is in the store when :meth:`take` returns."""

    def __init__(self, bot: Bot, store: Store, clock: Clock, guests: Guests, words: Words, *, album: Album) -> None:
        self._bot = bot
        self._store = store
        self._clock = clock
        self._guests = guests
        self._words = words
        self._album = album
        self._fetching = asyncio.Semaphore(PICTURES_AT_ONCE)
        self._asides: set[asyncio.Task[None]] = set()
        self.presses = Presses(bot)

    async def take(self, updates: Sequence[RawUpdate], cursor: Cursor | None = None) -> None:
        """Store what the updates say, and how far they were read, in one transaction.

        An update that cannot be read is let be. Whatever is raised, the updates may be taken once
        more: each counts once. Raises DBAPIError.
        """
        served = [incoming for update in updates if (incoming := await self._admitted(update))]
        await self._words_first(served)
        until = asyncio.get_running_loop().time() + PICTURE_PATIENCE_S
        brought = await asyncio.gather(*(self._bring(incoming, until) for incoming in served))
        await self._store.take_in([b.arrival for b in brought if b.arrival is not None], cursor)
        for incoming, one in zip(served, brought, strict=True):
            if incoming.query is not None:
                self.presses.acknowledge(incoming.query)
            if one.aside is not None:
                self._say(incoming.chat, one.aside)

    async def close(self) -> None:
        """Wait for what was begun."""
        await self.presses.close()
        if self._asides:
            await asyncio.wait(self._asides)

    # -- who is served

    async def _admitted(self, update: RawUpdate) -> Incoming | None:
        """What a served person said; everything else is dealt with here and leaves no trace."""
        match self._read(update):
            case Moved(old, new):
                await self._move(old, new)
            case Left(chat) if await self._guests.serves(chat):
                await self._store.chat_gone(chat, self._clock.now(), "the bot was blocked or removed")
            case Incoming() as incoming:
                return await self._ruled(incoming)
        return None

    def _read(self, update: RawUpdate) -> Incoming | Moved | Left | None:
        try:
            return read(Update.de_json(dict(update), self._bot), self._bot.bot, self._clock.now())
        except Exception as error:
            # One odd update must not hold up all that come after it. Its content is nobody's business.
            log.error("update %s cannot be read: %s", update.get("update_id"), type(error).__name__)
            return None

    async def _ruled(self, incoming: Incoming) -> Incoming | None:
        if incoming.query is not None and not await self._guests.serves(incoming.chat):
            self.presses.acknowledge(incoming.query)
            return None
        match await self._guests.rule(incoming):
            case Ruling.SERVE | Ruling.WELCOME:
                return self._guests.without_invite(incoming)
            case Ruling.DECLINE:
                self._say(incoming.chat, self._words.not_served())
        return None

    async def _move(self, old: str, new: str) -> None:
        if await self._guests.serves(old):
            await self._store.move_chat(old, new, self._clock.now())
            await self._guests.welcome(new)
            with contextlib.suppress(OSError):
                self._album.moved(old, new)

    # -- pictures and presses

    async def _words_first(self, served: Sequence[Incoming]) -> None:
        """Nobody waits for somebody else's picture: chats that sent none are stored before."""
        slow = {incoming.chat for incoming in served if incoming.picture is not None}
        quick = [incoming for incoming in served if incoming.chat not in slow]
        if slow and quick:
            await self._store.take_in([_arrival(incoming) for incoming in quick])

    async def _bring(self, incoming: Incoming, until: float) -> _Brought:
        if incoming.picture is not None:
            photo = await self._fetched(incoming, until)
            aside = None if photo else self._words.picture_not_kept()
            return _Brought(_arrival(incoming, photo) if photo or incoming.text else None, aside)
        aside = self._words.only_words_and_pictures() if incoming.beyond else None
        nothing_said = incoming.beyond and not incoming.text
        return _Brought(None if nothing_said else _arrival(incoming), aside)

    async def _fetched(self, incoming: Incoming, until: float) -> Photo | None:
        """The picture, kept; None where it cannot be. ``until`` is in the event loop's time."""
        picture = incoming.picture
        if picture is None or picture.too_large:
            return None
        try:
            async with asyncio.timeout_at(until), self._fetching:
                file = await self._bot.get_file(picture.file_id)
                content = bytes(await file.download_as_bytearray())
                return Photo(await asyncio.to_thread(self._album.keep, incoming.chat, incoming.key, content))
        except (TelegramError, TimeoutError, NotAPicture, OSError) as error:
            log.warning("picture not kept: %s", type(error).__name__)
            return None

    # -- lines beside the outbox

    def _say(self, chat: str, text: str) -> None:
        """Say a line that hangs on nothing, leaving no trace; nobody waits for it."""
        if len(self._asides) < ASIDES:
            task = asyncio.create_task(self._try_to_say(chat, text))
            self._asides.add(task)
            task.add_done_callback(self._asides.discard)

    async def _try_to_say(self, chat: str, text: str) -> None:
        try:
            await self._bot.send_message(chat, text)
        except TelegramError as error:
            log.info("line not said: %s", error)


def _arrival(incoming: Incoming, photo: Photo | None = None) -> Arrival:
    """The arrival as the store takes it. Data that is none of ours names a button that is nowhere."""
    inbound = Inbound(
        key=incoming.key,
        chat=incoming.chat,
        sender=incoming.sender,
        at=incoming.at,
        text=incoming.text,
        photo=photo,
        sender_name=incoming.sender_name,
        chat_kind=incoming.chat_kind,
        addressed=incoming.addressed,
    )
    if incoming.data is None:
        return Arrival(inbound)
    message, index = parse_callback(incoming.data) or (0, 0)
    return Arrival(inbound, Tap(message=message, index=index))
