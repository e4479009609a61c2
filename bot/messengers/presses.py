"""Pressed buttons: acknowledged at once, and shown as taken."""

from __future__ import annotations

import asyncio
import logging

from telegram import Bot, CallbackQuery, InlineKeyboardButton, InlineKeyboardMarkup, Message
from telegram.constants import ChatType
from telegram.error import TelegramError

log = logging.getLogger(__name__)

TAKEN = "✓ "
#: Names and labels are people's and may be long; a button shows about this much.
SHOWN = 40


class Presses:
    """Acknowledges presses beside everything else; what fails is let be, the press itself is stored."""

    def __init__(self, bot: Bot) -> None:
        self._bot = bot
        self._marking: dict[str, set[asyncio.Task[None]]] = {}

    def acknowledge(self, query: CallbackQuery) -> None:
        """End the press's spinning wheel and leave only the pressed button standing."""
        chat = str(query.message.chat.id) if query.message else ""
        task = asyncio.create_task(self._acknowledge(query))
        self._marking.setdefault(chat, set()).add(task)
        task.add_done_callback(lambda done: self._forget(chat, done))

    async def settled(self, chat: str) -> None:
        """Wait until presses in this chat are shown: a card edited meanwhile would lose its buttons."""
        if marking := self._marking.get(chat):
            await asyncio.wait(marking)

    async def close(self) -> None:
        """Wait for what was begun."""
        for chat in list(self._marking):
            await self.settled(chat)

    def _forget(self, chat: str, task: asyncio.Task[None]) -> None:
        self._marking[chat].discard(task)
        if not self._marking[chat]:
            del self._marking[chat]

    async def _acknowledge(self, query: CallbackQuery) -> None:
        try:
            await self._bot.answer_callback_query(query.id)
        except TelegramError as error:
            log.info("press not acknowledged: %s", error)
        message, taken = query.message, taken_button(query)
        if message is None or taken is None:
            return
        markup = InlineKeyboardMarkup([[taken]])
        try:
            await self._bot.edit_message_reply_markup(message.chat.id, message.message_id, reply_markup=markup)
        except TelegramError as error:
            log.info("press not shown: %s", error)


def taken_button(query: CallbackQuery) -> InlineKeyboardButton | None:
    """The pressed button as it stands afterwards; None where it says so already or is not there.

    In a group it says who pressed it.
    """
    message = query.message
    if not isinstance(message, Message) or message.reply_markup is None:
        return None
    buttons = [button for row in message.reply_markup.inline_keyboard for button in row]
    label = next((b.text for b in buttons if b.callback_data == query.data), None)
    if label is None or label.startswith(TAKEN):
        return None
    if message.chat.type != ChatType.PRIVATE:
        label = f"{label[:SHOWN]} · {query.from_user.first_name[:SHOWN]}"
    return InlineKeyboardButton(f"{TAKEN}{label}", callback_data=query.data)
