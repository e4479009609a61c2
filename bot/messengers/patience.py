"""Waiting for a network that comes and goes, and for the word to stop."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from typing import TypeVar

from telegram.error import BadRequest, Conflict, InvalidToken, RetryAfter, TelegramError

from bot.messengers.refusals import wait_s
from scheduler.pacing import backoff_s

T = TypeVar("T")
log = logging.getLogger(__name__)

MOST_PAUSE_S = 30.0


async def until_done(stop: asyncio.Event, call: Callable[[], Awaitable[object]], doing: str) -> None:
    """Try a call again and again through network trouble, until it is done or ``stop``.

    Raises InvalidToken and what else is no use to try again.
    """
    failed = 0
    while not stop.is_set():
        try:
            await unless(stop, call())
        except (InvalidToken, BadRequest, Conflict):
            raise
        except TelegramError as error:
            failed += 1
            log.warning("%s failed: %s", doing, error, extra={"attempt": failed})
            await pause(stop, pause_s(error, failed))
        else:
            return


def pause_s(error: TelegramError, failed: int) -> float:
    """How long to wait after a failure, in seconds."""
    return wait_s(error) if isinstance(error, RetryAfter) else backoff_s(failed, most_s=MOST_PAUSE_S)


async def pause(stop: asyncio.Event, seconds: float) -> None:
    """Wait, but not past ``stop``."""
    await unless(stop, asyncio.sleep(seconds))


async def unless(stop: asyncio.Event, call: Awaitable[T]) -> T | None:
    """What ``call`` returns, or None where ``stop`` came first; then the call is cancelled."""
    doing, stopping = asyncio.ensure_future(call), asyncio.ensure_future(stop.wait())
    try:
        await asyncio.wait({doing, stopping}, return_when=asyncio.FIRST_COMPLETED)
        return await doing if doing.done() else None
    finally:
        for task in (doing, stopping):
            task.cancel()
        await asyncio.gather(doing, stopping, return_exceptions=True)
