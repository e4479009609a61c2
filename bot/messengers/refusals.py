"""What Telegram's errors mean for a message that is to be sent."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import timedelta

import httpx
from telegram.error import (
    BadRequest,
    ChatMigrated,
    Forbidden,
    NetworkError,
    RetryAfter,
    TelegramError,
    TimedOut,
)

from bot.messengers.redaction import redact
from bot.messengers.wire import Unreadable
from scheduler import messenger

#: Refusals of the chat, not of the message: nobody there can be reached.
NOBODY_THERE = (
    "chat not found",
    "peer_id_invalid",
    "not enough rights to send",
    "have no rights to send",
    "chat_write_forbidden",
    "group chat was deactivated",
)
#: Refusals of what only an administrator of a group may do.
NO_RIGHT = ("not enough rights to manage pinned", "chat_admin_required", "need administrator rights")
#: The request never went out whole, so nothing can have arrived.
NOT_SENT = (httpx.ConnectError, httpx.ConnectTimeout, httpx.PoolTimeout, httpx.WriteError, httpx.WriteTimeout)


@asynccontextmanager
async def told_apart() -> AsyncIterator[None]:
    """Turn Telegram's errors into the scheduler's.

    Raises SendError, or NetworkError where nothing has arrived and another try is worth it.
    """
    try:
        yield
    except TelegramError as error:
        raise meaning(error) from None


def meaning(error: TelegramError) -> Exception:
    """The scheduler's error for one of Telegram's; its text holds no secret and nobody's words."""
    said = redact(error.message)
    match error:
        case RetryAfter():
            return messenger.RetryAfter(wait_s(error))
        case ChatMigrated():
            return messenger.ChatMoved(str(error.new_chat_id))
        case BadRequest() if any(sign in said.lower() for sign in NO_RIGHT):
            return messenger.NotAllowed(said)
        case BadRequest() if not any(sign in said.lower() for sign in NOBODY_THERE):
            return messenger.Refused(said)
        case Forbidden() | BadRequest():
            return messenger.ChatGone(said)
        case NetworkError() if perhaps_arrived(error):
            return messenger.Unsure(said)
    return NetworkError(said)


def wait_s(error: RetryAfter) -> float:
    """How long Telegram wants to be left alone, in seconds."""
    wait = error.retry_after
    return wait.total_seconds() if isinstance(wait, timedelta) else float(wait)


def perhaps_arrived(error: NetworkError) -> bool:
    """Whether the request went out whole and no answer that can be read came back."""
    cause = error.__cause__
    if isinstance(error, Unreadable) or (isinstance(error, TimedOut) and cause is None):
        return True
    return isinstance(cause, httpx.HTTPError) and not isinstance(cause, NOT_SENT)
