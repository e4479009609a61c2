"""Fitting words and buttons into what Telegram takes."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from telegram import InlineKeyboardButton, InlineKeyboardMarkup, MessageEntity, User

#: Telegram, "Bot API", sendMessage and sendPhoto: longest text and caption.
TEXT_LIMIT = 4096
CAPTION_LIMIT = 1024
#: Labels up to this long together share a row; thumbs need width.
ROW_LENGTH = 24

_CALLBACK = re.compile(r"(0|[1-9][0-9]{0,17}):(0|[1-9][0-9]?)")


def length(text: str) -> int:
    """Length as Telegram counts it, in UTF-16 code units."""
    return len(text.encode("utf-16-le", "surrogatepass")) // 2


def split(text: str, limit: int = TEXT_LIMIT) -> list[str]:
    """Cut a text into parts of at most ``limit``, at ends of lines if it can be, then at spaces.

    Nothing but the white space at a cut is lost. An empty text gives one empty part.
    """
    parts: list[str] = []
    while length(text) > limit:
        at = _cut(text, _fitting(text, limit))
        parts.append(text[:at].rstrip())
        text = text[at:].lstrip("\n ")
    return [part for part in [*parts, text] if part] or [""]


def callback_data(message: int, index: int) -> str:
    """What a button carries: which message of ours, which button; at most 22 of the 64 bytes."""
    return f"{message}:{index}"


def parse_callback(data: str | None) -> tuple[int, int] | None:
    """The message and the button that ``data`` names, or None where it is none of ours."""
    match = _CALLBACK.fullmatch(data or "")
    return (int(match[1]), int(match[2])) if match else None


def keyboard(message: int, labels: Sequence[str]) -> InlineKeyboardMarkup | None:
    """The buttons of a message, short ones two to a row. None where it has none."""
    buttons = [
        InlineKeyboardButton(label, callback_data=callback_data(message, index)) for index, label in enumerate(labels)
    ]
    rows: list[list[InlineKeyboardButton]] = []
    for button in buttons:
        if rows and len(rows[-1]) == 1 and len(rows[-1][0].text) + len(button.text) <= ROW_LENGTH:
            rows[-1].append(button)
        else:
            rows.append([button])
    return InlineKeyboardMarkup(rows) if rows else None


def mentions(text: str, facts: Sequence[Mapping[str, Any]]) -> list[MessageEntity] | None:
    """Names in a text by which a reminder calls somebody, so that their phone rings; None where there are none."""
    called = [fact["for"] for fact in facts if fact.get("kind") == "reminder" and fact.get("for")]
    found = [_mention(text, str(one["name"]), int(one["id"])) for one in called if str(one["id"]).isdecimal()]
    return [mention for mention in found if mention is not None] or None


def _mention(text: str, name: str, person: int) -> MessageEntity | None:
    at = text.find(name)
    if at < 0 or not name:
        return None
    user = User(person, name, is_bot=False)
    return MessageEntity(MessageEntity.TEXT_MENTION, length(text[:at]), length(name), user=user)


def _fitting(text: str, limit: int) -> int:
    """How many characters from the start fit."""
    taken = 0
    for index, char in enumerate(text):
        taken += 2 if ord(char) > 0xFFFF else 1
        if taken > limit:
            return index
    return len(text)


def _cut(text: str, most: int) -> int:
    for mark in ("\n", " "):
        at = text.rfind(mark, 1, most + 1)
        if at > 0:
            return at
    return most
