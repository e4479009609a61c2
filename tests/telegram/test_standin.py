"""The stand-in runs python-telegram-bot as it is, and refuses what the Bot API refuses.

Refusals and limits: Telegram, "Bot API", 2026, "Making requests", "Getting updates" and the methods'
own entries; python-telegram-bot 22.8, `telegram.constants` for the limits.
"""

from __future__ import annotations

import asyncio
from typing import Any

import pytest
from telegram import Bot, InlineKeyboardButton, InlineKeyboardMarkup
from telegram.constants import InlineKeyboardButtonLimit, MessageLimit
from telegram.error import (
    BadRequest,
    ChatMigrated,
    Conflict,
    Forbidden,
    InvalidToken,
    NetworkError,
    RetryAfter,
    TimedOut,
)
from telegram.ext import Application, ContextTypes, MessageHandler, filters

from tests.telegram import faults
from tests.telegram.standin import StandIn
from tests.telegram.world import BOT, Note, World


def library_bot(telegram: StandIn, token: str | None = None) -> Bot:
    return Bot(token or telegram.token, base_url=telegram.base_url, base_file_url=telegram.base_file_url)


def keyboard(*data: str) -> InlineKeyboardMarkup:
    return InlineKeyboardMarkup([[InlineKeyboardButton("Tap", callback_data=d)] for d in data])


async def test_the_librarys_own_polling_application_runs_on_it(telegram: StandIn) -> None:
    async def echo(update: Any, context: ContextTypes.DEFAULT_TYPE) -> None:
        await update.message.reply_text(update.message.text)

    builder = Application.builder().token(telegram.token)
    app = builder.base_url(telegram.base_url).base_file_url(telegram.base_file_url).build()
    app.add_handler(MessageHandler(filters.TEXT, echo))
    ann = telegram.world.person("Ann")
    async with app:
        await app.updater.start_polling()
        await app.start()
        telegram.world.says(ann, "two pounds")
        said = await telegram.world.until(lambda: telegram.world.said(ann))
        await app.updater.stop()
        await app.stop()
    assert [note.text for note in said] == ["two pounds"]


async def test_updates_stay_until_they_are_confirmed_by_offset(telegram: StandIn) -> None:
    ann = telegram.world.person("Ann")
    for text in ("one", "two", "three"):
        telegram.world.says(ann, text)
    async with library_bot(telegram) as bot:
        first = await bot.get_updates(limit=2)
        again = await bot.get_updates(limit=2)
        rest = await bot.get_updates(offset=first[-1].update_id + 1)
    assert [u.message.text for u in first] == [u.message.text for u in again] == ["one", "two"]
    assert [u.message.text for u in rest] == ["three"]


async def test_a_long_poll_waits_and_wakes(telegram: StandIn) -> None:
    ann = telegram.world.person("Ann")
    async with library_bot(telegram) as bot:
        waiting = asyncio.create_task(bot.get_updates(timeout=30))
        await telegram.world.until(lambda: telegram.world.called("getUpdates"))
        assert not waiting.done()
        telegram.world.says(ann, "now")
        [update] = await waiting
    assert update.message.text == "now"


async def test_allowed_updates_are_remembered(telegram: StandIn) -> None:
    ann = telegram.world.person("Ann")
    note = telegram.world.says(ann, "typed")
    telegram.world.edits(ann, note, "typed better")
    async with library_bot(telegram) as bot:
        await bot.get_updates(allowed_updates=["edited_message"])
        [update] = await bot.get_updates()
    assert update.edited_message.text == "typed better"


async def test_a_second_poller_ends_the_first(telegram: StandIn) -> None:
    async with library_bot(telegram) as bot, library_bot(telegram) as other:
        first = asyncio.create_task(bot.get_updates(timeout=30))
        await telegram.world.until(lambda: telegram.world.called("getUpdates"))
        await other.get_updates(timeout=0)
        with pytest.raises(Conflict, match="terminated by other"):
            await first


async def test_polling_beside_a_webhook_is_refused(telegram: StandIn) -> None:
    async with library_bot(telegram) as bot:
        await bot.set_webhook("http://127.0.0.1:9/never")
        with pytest.raises(Conflict, match="webhook is active"):
            await bot.get_updates()
        assert (await bot.get_webhook_info()).url == "http://127.0.0.1:9/never"
        await bot.delete_webhook()
        assert await bot.get_updates() == ()


async def test_a_wrong_token_is_refused(telegram: StandIn) -> None:
    with pytest.raises(InvalidToken):
        await library_bot(telegram, "1:wrong").initialize()


async def test_an_unknown_method_is_refused(telegram: StandIn) -> None:
    async with library_bot(telegram) as bot:
        with pytest.raises(InvalidToken, match="Not Found"):
            await bot.send_dice(telegram.world.person("Ann").id)


async def test_limits_of_texts_captions_and_buttons(telegram: StandIn) -> None:
    ann = telegram.world.person("Ann").id
    longest, data = MessageLimit.MAX_TEXT_LENGTH, InlineKeyboardButtonLimit.MAX_CALLBACK_DATA
    async with library_bot(telegram) as bot:
        sent = await bot.send_message(ann, "x" * longest, reply_markup=keyboard("d" * data))
        assert len(sent.text) == longest
        with pytest.raises(BadRequest, match="too long"):
            await bot.send_message(ann, "x" * (longest + 1))
        with pytest.raises(BadRequest, match=r"(?i)button_data_invalid"):
            await bot.send_message(ann, "x", reply_markup=keyboard("d" * (data + 1)))
        with pytest.raises(BadRequest, match=r"(?i)button_data_invalid"):
            await bot.send_message(ann, "x", reply_markup=keyboard("ø" * (data // 2 + 1)))
        with pytest.raises(BadRequest, match="caption is too long"):
            await bot.send_document(ann, b"x", caption="x" * (MessageLimit.CAPTION_LENGTH + 1))
        with pytest.raises(BadRequest, match=r"(?i)image_process_failed"):
            await bot.send_photo(ann, b"%PDF-1.7 not a picture")
        with pytest.raises(BadRequest, match=r"(?i)empty"):
            await bot.send_message(ann, " ")


async def test_edits_deletions_and_presses(telegram: StandIn) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with library_bot(telegram) as bot:
        sent = await bot.send_message(ann.id, "Not yet", reply_markup=keyboard("1:0"))
        [note] = world.said(ann)
        query = world.presses(ann, note, "Tap")
        [update] = await bot.get_updates()
        assert update.callback_query.data == "1:0"
        assert await update.callback_query.answer("Taken")
        assert world.queries[query] is not None
        with pytest.raises(BadRequest, match=r"(?i)query is too old"):
            await update.callback_query.answer()
        await sent.edit_text("Go on", reply_markup=keyboard("1:0"))
        with pytest.raises(BadRequest, match=r"(?i)message is not modified"):
            await sent.edit_text("Go on", reply_markup=keyboard("1:0"))
        await sent.edit_reply_markup(None)
        assert (note.text, note.labels, note.edits) == ("Go on", [], 2)
        await sent.delete()
        with pytest.raises(BadRequest, match=r"(?i)message to edit not found"):
            await sent.edit_text("gone")


async def test_a_file_goes_both_ways(telegram: StandIn) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    async with library_bot(telegram) as bot:
        await bot.send_document(ann.id, b"a,b\n1,2\n", filename="record.csv", caption="The record")
        world.shows(ann, b"picture bytes", caption="surface")
        [update] = await bot.get_updates()
        file = await update.message.photo[-1].get_file()
        assert bytes(await file.download_as_bytearray()) == b"picture bytes"
    [note] = world.said(ann)
    assert note.body["document"]["file_name"] == "record.csv"
    assert note.text == "The record"


async def test_who_cannot_be_written_to(telegram: StandIn) -> None:
    world = telegram.world
    ann, crew = world.person("Ann"), world.group("The crew", can_pin=False)
    async with library_bot(telegram) as bot:
        sent = await bot.send_message(crew.id, "The batch")
        with pytest.raises(BadRequest, match=r"(?i)not enough rights"):
            await sent.pin()
        world.rooms[ann.id].blocked = True
        with pytest.raises(Forbidden, match="blocked by the user"):
            await bot.send_message(ann.id, "hello")
        moved = world.upgrade(crew)
        with pytest.raises(ChatMigrated) as caught:
            await bot.send_message(crew.id, "hello")
        assert caught.value.new_chat_id == moved.id
        assert (await bot.get_chat(moved.id)).title == "The crew"


async def test_faults(telegram: StandIn) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    telegram.fault(
        "sendMessage",
        faults.flooded(7),
        faults.broken(500),
        faults.broken(502),
        faults.hanging(1.0),
        faults.hanging(1.0, after=True),
        faults.cut(),
        faults.cut(after=True),
    )
    async with library_bot(telegram) as bot:
        with pytest.raises(RetryAfter) as caught:
            await bot.send_message(ann.id, "flood")
        assert caught.value.retry_after == 7
        for text in ("500", "502"):
            with pytest.raises(NetworkError):
                await bot.send_message(ann.id, text)
        for text in ("hang", "hang after"):
            with pytest.raises(TimedOut):
                await bot.send_message(ann.id, text, read_timeout=0.1)
        for text in ("cut", "cut after"):
            with pytest.raises(NetworkError):
                await bot.send_message(ann.id, text)
    assert [note.text for note in world.said(ann)] == ["hang after", "cut after"]


def test_groups_with_privacy_pass_on_only_what_is_for_the_bot() -> None:
    world = World()
    ann, crew = world.person("Ann"), world.group("The crew", privacy=True)
    bots: Note = world.note(crew, BOT, {"text": "earlier"})
    world.says(ann, "just talk", crew)
    world.says(ann, "/help", crew)
    world.says(ann, "@helper_bot core 63", crew)
    world.says(ann, "done", crew, reply_to=bots)
    assert [u["message"]["text"] for u in world.pending] == ["/help", "@helper_bot core 63", "done"]
