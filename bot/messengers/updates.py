"""Reading Telegram's updates: who said what, where, when, with which picture or button."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

from telegram import CallbackQuery, Message, Update, User
from telegram import Chat as TelegramChat
from telegram.constants import ChatMemberStatus, ChatType

from bot.messengers.pictures import BYTES_LIMIT

#: What is asked of Telegram; other kinds of update are not for this tool.
KINDS = ("message", "edited_message", "callback_query", "my_chat_member")
#: An edited message corrects what was said: it is heard as if these words went before it.
AMENDS = "no, "
#: Nobody is there any more: the bot was blocked, or put out of a group.
ABSENT = {ChatMemberStatus.BANNED, ChatMemberStatus.LEFT}


@dataclass(frozen=True)
class Attachment:
    """A picture to fetch. ``size`` is in bytes, as the messenger says, or None."""

    file_id: str
    size: int | None

    @property
    def too_large(self) -> bool:
        return self.size is not None and self.size > BYTES_LIMIT


@dataclass(frozen=True)
class Incoming:
    """Something that a person said, showed or pressed.

    ``offered`` is what may be the invite word: the text, or what a link put behind ``/start``.
    ``data`` is what a pressed button carries and ``query`` the press to acknowledge.
    ``beyond`` is True where there was something that is neither words, picture nor button, ``addressed``
    where the bot was spoken to: alone, by its name, by a reply to it or by a command.
    """

    key: str
    chat: str
    chat_kind: str
    sender: str
    sender_name: str
    at: datetime
    text: str = ""
    offered: str = ""
    data: str | None = None
    query: CallbackQuery | None = None
    picture: Attachment | None = None
    beyond: bool = False
    addressed: bool = False


@dataclass(frozen=True)
class Moved:
    """A group became a supergroup: the same chat has a new name."""

    old: str
    new: str


@dataclass(frozen=True)
class Left:
    """The bot was blocked, or put out of the group."""

    chat: str


def read(update: Update, bot: User, now: datetime) -> Incoming | Moved | Left | None:
    """What an update says to the tool, or None where it says nothing to it.

    ``now`` stands in for the time of a button press, which the messenger does not tell.
    """
    key = f"{bot.id}:{update.update_id}"
    if update.callback_query is not None:
        return _press(update.callback_query, key, now)
    if update.my_chat_member is not None:
        gone = update.my_chat_member.new_chat_member.status in ABSENT
        return Left(str(update.my_chat_member.chat.id)) if gone else None
    message = update.message or update.edited_message
    if message is None or message.chat.type == ChatType.CHANNEL:
        return None
    if message.migrate_to_chat_id is not None:
        return Moved(str(message.chat.id), str(message.migrate_to_chat_id))
    return _message(message, key, bot, edited=update.edited_message is not None)


def _message(message: Message, key: str, bot: User, *, edited: bool) -> Incoming | None:
    sender, name = _sender(message)
    if sender is None:
        return None
    written = message.text or message.caption or ""
    text = _plain_words(written, bot.username or "")
    if text is None:
        return None
    picture = _picture(message)
    beyond = not text and picture is None
    if beyond and (edited or message.effective_attachment is None):
        return None
    return Incoming(
        key=key,
        chat=str(message.chat.id),
        chat_kind=_kind(message.chat),
        sender=sender,
        sender_name=name,
        at=(message.edit_date if edited else None) or message.date,
        text=f"{AMENDS}{text}" if edited and text else text,
        offered=_offered(written) or text,
        picture=None if edited else picture,
        beyond=beyond or (picture is None and message.effective_attachment is not None),
        addressed=_addressed(message, written, bot),
    )


def _press(query: CallbackQuery, key: str, now: datetime) -> Incoming | None:
    if query.message is None:
        return None
    return Incoming(
        key=key,
        chat=str(query.message.chat.id),
        chat_kind=_kind(query.message.chat),
        sender=str(query.from_user.id),
        sender_name=query.from_user.first_name,
        at=now,
        data=query.data or "",
        query=query,
    )


def _sender(message: Message) -> tuple[str | None, str]:
    """Who speaks: a person, or a group speaking as itself; never another bot."""
    if message.sender_chat is not None:
        return str(message.sender_chat.id), message.sender_chat.title or ""
    user = message.from_user
    if user is None or user.is_bot:
        return None, ""
    return str(user.id), user.first_name


def _plain_words(text: str, username: str) -> str | None:
    """Commands and mentions as plain words; None where a command is for another bot.

    ``/start`` loses what stands behind it: that can be the invite word, which is not to be kept.
    """
    command = re.match(r"/([A-Za-z0-9_]+)(?:@(\w+))?(?=\s|$)", text)
    if command:
        if command[2] and command[2].lower() != username.lower():
            return None
        rest = "" if command[1].lower() == "start" else text[command.end() :]
        text = command[1].replace("_", " ") + rest
    if username:
        text = re.sub(rf"(?<!\w)@{re.escape(username)}\b[,:]?", "", text, flags=re.IGNORECASE)
    return text.strip()


def _addressed(message: Message, written: str, bot: User) -> bool:
    answers = message.reply_to_message
    return (
        message.chat.type == ChatType.PRIVATE
        or written.startswith("/")
        or f"@{bot.username or ''}".casefold() in written.casefold()
        or (answers is not None and answers.from_user is not None and answers.from_user.id == bot.id)
    )


def _offered(written: str) -> str:
    """What stands behind ``/start``, as a link puts it there."""
    link = re.fullmatch(r"/start(?:@\w+)?\s+(\S+)", written.strip())
    return link[1] if link else ""


def _picture(message: Message) -> Attachment | None:
    if message.photo:
        largest = message.photo[-1]
        return Attachment(largest.file_id, largest.file_size)
    document = message.document
    if document is not None and (document.mime_type or "").startswith("image/"):
        return Attachment(document.file_id, document.file_size)
    return None


def _kind(chat: TelegramChat) -> str:
    return "private" if chat.type == ChatType.PRIVATE else "group"
