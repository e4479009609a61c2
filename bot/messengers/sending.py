"""Putting a message into a Telegram chat: text, buttons, pictures, documents, the pinned card."""

from __future__ import annotations

import asyncio
import logging
from dataclasses import dataclass
from pathlib import Path

from telegram import Bot, InlineKeyboardMarkup
from telegram.error import BadRequest

from bot.messengers import formatting
from bot.messengers.refusals import told_apart
from scheduler.messenger import ChatGone, Refused
from scheduler.outbox import Outgoing

log = logging.getLogger(__name__)

#: Telegram, "Bot API", "Sending files": at most this much as a picture, and as a file.
PICTURE_LIMIT = 10 * 1024 * 1024
FILE_LIMIT = 50 * 1024 * 1024
PICTURES = {".png", ".jpg", ".jpeg"}
UNCHANGED = "message is not modified"


@dataclass(frozen=True)
class Part:
    """One message as Telegram counts them: a text, or a file with a caption."""

    text: str
    file: Path | None = None


class Sender:
    """Sends what the outbox holds. A message of several parts that fails midway goes on from there.

    Files are looked for under ``data_dir``; one that is not there is left out. Every call raises
    :class:`scheduler.messenger.SendError`, or NetworkError where another try is worth it.
    """

    def __init__(self, bot: Bot, data_dir: Path) -> None:
        self._bot = bot
        self._data_dir = data_dir
        self._begun: dict[int, list[int]] = {}

    async def send(self, out: Outgoing) -> str:
        """Send a message; the id of the part with the buttons."""
        try:
            return str(await self._send_parts(out))
        except (ChatGone, Refused):
            self._begun.pop(out.id, None)
            raise

    async def edit(self, out: Outgoing, message: str) -> str:
        """Put the card into the place of an earlier one; Refused where that is not there any more."""
        text, markup = _card(out), self._markup(out)
        try:
            async with told_apart():
                await self._bot.edit_message_text(text, out.chat, int(message), reply_markup=markup)
        except Refused as refusal:
            if UNCHANGED not in str(refusal).lower():
                raise
        return message

    async def pin(self, chat: str, message: str) -> None:
        """Pin a message quietly. Raises NotAllowed."""
        async with told_apart():
            await self._bot.pin_chat_message(chat, int(message), disable_notification=True)

    async def unpin(self, chat: str, message: str) -> None:
        """Unpin a message; Refused where it is not there or not pinned."""
        async with told_apart():
            await self._bot.unpin_chat_message(chat, int(message))

    async def _send_parts(self, out: Outgoing) -> int:
        parts, done = self._parts(out), self._begun.setdefault(out.id, [])
        for number in range(len(done), len(parts)):
            markup = self._markup(out) if number == len(parts) - 1 else None
            async with told_apart():
                done.append(await self._send_part(out, parts[number], markup))
        del self._begun[out.id]
        return done[-1]

    async def _send_part(self, out: Outgoing, part: Part, markup: InlineKeyboardMarkup | None) -> int:
        quiet = out.message.silent or out.message.pin is not None
        if part.file is not None:
            return await self._send_file(out.chat, part, part.file, markup, quiet)
        sent = await self._bot.send_message(
            out.chat,
            part.text,
            reply_markup=markup,
            disable_notification=quiet,
            entities=formatting.mentions(part.text, out.message.facts),
        )
        return sent.message_id

    async def _send_file(
        self, chat: str, part: Part, file: Path, markup: InlineKeyboardMarkup | None, quiet: bool
    ) -> int:
        content, caption = await asyncio.to_thread(file.read_bytes), part.text or None
        if file.suffix.lower() in PICTURES and len(content) <= PICTURE_LIMIT:
            try:
                sent = await self._bot.send_photo(
                    chat, content, caption, disable_notification=quiet, reply_markup=markup
                )
            except BadRequest as refusal:
                # Of a shape that Telegram does not show as a picture: it goes as a file.
                log.info("picture refused: %s", refusal)
            else:
                return sent.message_id
        sent = await self._bot.send_document(
            chat, content, caption, disable_notification=quiet, reply_markup=markup, filename=file.name
        )
        return sent.message_id

    def _parts(self, out: Outgoing) -> list[Part]:
        """The parts in order. A short text goes with the first file, the buttons with the last part."""
        if out.message.pin is not None:
            return [Part(_card(out))]
        files = [path for name in out.message.files if self._can_send(path := self._data_dir / name)]
        text = out.message.text
        if files and formatting.length(text) <= formatting.CAPTION_LIMIT:
            return [Part(text, files[0]), *(Part("", file) for file in files[1:])]
        return [*(Part(piece) for piece in formatting.split(text)), *(Part("", file) for file in files)]

    @staticmethod
    def _can_send(file: Path) -> bool:
        sendable = file.is_file() and file.stat().st_size <= FILE_LIMIT
        if not sendable:
            log.warning("file left out, it is not there or over %d bytes: %s", FILE_LIMIT, file.name)
        return sendable

    @staticmethod
    def _markup(out: Outgoing) -> InlineKeyboardMarkup | None:
        return formatting.keyboard(out.id, [button.label for button in out.message.buttons])


def _card(out: Outgoing) -> str:
    """A card is one message: what does not fit is cut off at a line."""
    return formatting.split(out.message.text)[0]
