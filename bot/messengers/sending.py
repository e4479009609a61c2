"""Putting a message into a Telegram chat: text, buttons, pictures, documents, the pinned card."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from pathlib import Path

from telegram import Bot, InlineKeyboardMarkup
from telegram.error import BadRequest, Forbidden, TelegramError

from bot.messengers import formatting
from scheduler.outbox import Outgoing

log = logging.getLogger(__name__)

PICTURES = {".png", ".jpg", ".jpeg"}
#: What Telegram says where a card is no longer there to be edited.
CARD_GONE = ("message to edit not found", "message can't be edited", "message_id_invalid")
UNCHANGED = "message is not modified"


@dataclass(frozen=True)
class Part:
    """One message as Telegram counts them: a text, or a file with a caption."""

    text: str
    file: Path | None = None


class Sender:
    """Sends what the outbox holds. A message of several parts that fails midway goes on from there."""

    def __init__(self, bot: Bot, data_dir: Path) -> None:
        self._bot = bot
        self._data_dir = data_dir
        self._begun: dict[int, list[int]] = {}

    async def send(self, out: Outgoing) -> str:
        """Send or edit a message; the id of the part that carries its buttons.

        Raises TelegramError.
        """
        if out.message.pin is not None:
            return await self._card(out)
        try:
            return str(await self._send_parts(out))
        except (BadRequest, Forbidden):
            # Refused for good: there is nothing to go on with.
            self._begun.pop(out.id, None)
            raise

    async def _card(self, out: Outgoing) -> str:
        text, markup = _card_text(out.message.text), self._markup(out)
        if out.replaces is not None and await self._edited(out.chat, int(out.replaces), text, markup):
            return out.replaces
        sent = await self._bot.send_message(out.chat, text, reply_markup=markup, disable_notification=True)
        await self._pin(out.chat, sent.message_id)
        return str(sent.message_id)

    async def _edited(self, chat: str, message: int, text: str, markup: InlineKeyboardMarkup | None) -> bool:
        """Edit the card; False where it is no longer there."""
        try:
            await self._bot.edit_message_text(text, chat, message, reply_markup=markup)
        except BadRequest as refusal:
            said = refusal.message.lower()
            if UNCHANGED in said:
                return True
            if any(gone in said for gone in CARD_GONE):
                return False
            raise
        return True

    async def _pin(self, chat: str, message: int) -> None:
        """Pin quietly. A card that may not be pinned serves as well further up in the chat."""
        try:
            await self._bot.pin_chat_message(chat, message, disable_notification=True)
        except TelegramError as refusal:
            log.info("card not pinned: %s", refusal)

    async def _send_parts(self, out: Outgoing) -> int:
        parts, done = self._parts(out), self._begun.setdefault(out.id, [])
        for number in range(len(done), len(parts)):
            markup = self._markup(out) if number == len(parts) - 1 else None
            done.append(await self._send_part(out, parts[number], markup))
        del self._begun[out.id]
        return done[-1]

    async def _send_part(self, out: Outgoing, part: Part, markup: InlineKeyboardMarkup | None) -> int:
        chat, silent = out.chat, out.message.silent
        if part.file is None:
            sent = await self._bot.send_message(
                chat, part.text, reply_markup=markup, disable_notification=silent
            )
            return sent.message_id
        content, caption = part.file.read_bytes(), part.text or None
        if part.file.suffix.lower() in PICTURES:
            try:
                sent = await self._bot.send_photo(
                    chat, content, caption, disable_notification=silent, reply_markup=markup
                )
            except BadRequest as refusal:
                # Too large, or of a shape that Telegram does not show: it goes as a file.
                log.info("picture refused: %s", refusal)
            else:
                return sent.message_id
        sent = await self._bot.send_document(
            chat, content, caption, disable_notification=silent, reply_markup=markup, filename=part.file.name
        )
        return sent.message_id

    def _parts(self, out: Outgoing) -> list[Part]:
        """The parts in order. A short text goes with the first file, the buttons with the last part."""
        files = [path for name in out.message.files if (path := self._data_dir / name).is_file()]
        text = out.message.text
        if files and formatting.length(text) <= formatting.CAPTION_LIMIT:
            return [Part(text, files[0]), *(Part("", file) for file in files[1:])]
        return [*(Part(piece) for piece in formatting.split(text)), *(Part("", file) for file in files)]

    @staticmethod
    def _markup(out: Outgoing) -> InlineKeyboardMarkup | None:
        return formatting.keyboard(out.id, [button.label for button in out.message.buttons])


def _card_text(text: str) -> str:
    """A card is one message: what does not fit is cut off at a line."""
    return formatting.split(text)[0]
