"""Running the bot against the stand-in, in this process."""

from __future__ import annotations

import asyncio
import io
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from PIL import Image

from bot.complaints import WorkFailed
from bot.messengers.telegram import TelegramSettings, serve, telegram_tuning
from scheduler.clock import SystemClock
from scheduler.delivery import DeliveryTuning
from scheduler.runner import Tuning
from scheduler.store import Store
from scheduler.turn import Answering, Chat
from tests.telegram.parrot import Parrot
from tests.telegram.standin import StandIn
from tests.telegram.world import Note, Person, Room

INVITE = "Kelp-Lantern"


class Lines:
    """The lines that the messenger itself says."""

    def not_served(self) -> str:
        return "This bot is for invited people."

    def picture_not_kept(self) -> str:
        return "That picture could not be kept."

    def only_words_and_pictures(self) -> str:
        return "Only words and pictures, please."

    def card_not_pinned(self) -> str:
        return "The card cannot be pinned here."


def quick_tuning() -> Tuning:
    """As in earnest, with a short wait before a message that may have arrived is sent again."""
    pacing = telegram_tuning().delivery.pacing
    return Tuning(delivery=DeliveryTuning(pacing=pacing, unsure_retry_s=0.05))


class Ahead(SystemClock):
    """The machine's clock, as if it were started at another moment; runs on as fast, and can be put forward."""

    def __init__(self, start: datetime) -> None:
        self._shift = start - super().now()

    def now(self) -> datetime:
        """The machine's time, shifted."""
        return super().now() + self._shift

    def forward(self, store: Store, **span: float) -> None:
        """Let time pass at once, and wake whoever waits for it."""
        self._shift += timedelta(**span)
        store.bell.ring("due", "in", "out")


async def open_store(folder: Path, url: str | None = None, clock: SystemClock | None = None) -> Store:
    """A store in which a new chat has not given the invite word; on a file in ``folder`` unless said."""
    where = url or f"sqlite:///{folder / 'test.sqlite3'}"
    return await Store.open(where, new_chat=lambda chat: Chat(chat, welcome=False), clock=clock)


@asynccontextmanager
async def running(
    telegram: StandIn,
    answering: Answering,
    folder: Path,
    url: str | None = None,
    clock: SystemClock | None = None,
    **given: Any,
) -> AsyncIterator[Store]:
    """The bot at work; it has stopped by itself or is stopped at the end. Raises what it raised."""
    settings = settings_for(telegram, folder, **given)
    clock = clock or SystemClock()
    store, stop = await open_store(folder, url, clock), asyncio.Event()
    serving = asyncio.create_task(
        serve(settings, answering, store, clock, stop, words=Lines(), tuning=quick_tuning())
    )
    try:
        yield store
    finally:
        stop.set()
        try:
            await serving
        finally:
            await store.close()


async def failure(telegram: StandIn, folder: Path, **given: Any) -> str:
    """What the bot says when it gives up by itself."""
    store = await open_store(folder)
    serving = serve(
        settings_for(telegram, folder, **given),
        Parrot(),
        store,
        SystemClock(),
        asyncio.Event(),
        words=Lines(),
        tuning=quick_tuning(),
    )
    try:
        async with asyncio.timeout(10):
            await serving
    except WorkFailed as failed:
        return str(failed)
    finally:
        await store.close()
    raise AssertionError("it ended without a word")


async def answers(telegram: StandIn, who: Person | Room, count: int = 1) -> list[Note]:
    """The bot's messages in a chat, once there are that many."""
    await telegram.world.until(lambda: len(telegram.world.said(who)) >= count)
    return telegram.world.said(who)


def picture(colour: str = "red", size: tuple[int, int] = (60, 40), form: str = "JPEG") -> bytes:
    """A picture's file."""
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, form)
    return out.getvalue()


def settings_for(telegram: StandIn, folder: Path, **given: Any) -> TelegramSettings:
    """Settings that reach the stand-in; everybody in its world so far is served unless said."""
    served = frozenset(str(room) for room in telegram.world.rooms)
    defaults = {"token": telegram.token, "data_dir": folder, "allowed": served, "api_url": telegram.origin}
    return TelegramSettings(**(defaults | given))
