"""What the library's errors mean for a message: try again, unsure, nobody there, moved, refused."""

from __future__ import annotations

import warnings
from datetime import timedelta

import httpx
import pytest
from telegram.error import (
    BadRequest,
    ChatMigrated,
    Forbidden,
    InvalidToken,
    NetworkError,
    RetryAfter,
    TelegramError,
    TimedOut,
)

from bot.messengers.redaction import keep_out_of_logs
from bot.messengers.refusals import meaning
from bot.messengers.wire import Unreadable
from scheduler import messenger


def caused(error: TelegramError, cause: Exception) -> TelegramError:
    error.__cause__ = cause
    return error


@pytest.mark.parametrize(
    ("error", "kind"),
    [
        (ChatMigrated(-100), messenger.ChatMoved),
        (Forbidden("Forbidden: bot was blocked by the user"), messenger.ChatGone),
        (BadRequest("Chat not found"), messenger.ChatGone),
        (BadRequest("Not enough rights to send text messages to the chat"), messenger.ChatGone),
        (BadRequest("Message text is empty"), messenger.Refused),
        (TimedOut(), messenger.Unsure),
        (caused(TimedOut(), httpx.ReadTimeout("")), messenger.Unsure),
        (caused(NetworkError("cut"), httpx.ReadError("")), messenger.Unsure),
        (caused(NetworkError("cut"), httpx.RemoteProtocolError("")), messenger.Unsure),
        (Unreadable("no JSON"), messenger.Unsure),
        (caused(TimedOut(), httpx.ConnectTimeout("")), NetworkError),
        (caused(TimedOut(), httpx.PoolTimeout("")), NetworkError),
        (caused(NetworkError("no route"), httpx.ConnectError("")), NetworkError),
        (NetworkError("Bad Gateway (502)"), NetworkError),
        (InvalidToken("Unauthorized"), NetworkError),
        (TelegramError("anything else"), NetworkError),
    ],
    ids=repr,
)
def test_meaning(error: TelegramError, kind: type[Exception]) -> None:
    assert type(meaning(error)) is kind


def test_a_flood_says_how_long_to_wait() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for wait in (7, timedelta(seconds=7)):
            meant = meaning(RetryAfter(wait))
            assert isinstance(meant, messenger.RetryAfter)
            assert meant.seconds == 7


def test_the_new_name_of_a_group_comes_along() -> None:
    meant = meaning(ChatMigrated(-100123))
    assert isinstance(meant, messenger.ChatMoved)
    assert meant.new_id == "-100123"


def test_no_secret_is_in_the_text() -> None:
    keep_out_of_logs("700001:never-to-be-read")
    meant = meaning(BadRequest("wrong address /bot700001:never-to-be-read/sendMessage"))
    assert str(meant) == "wrong address /bot[secret]/sendMessage"
