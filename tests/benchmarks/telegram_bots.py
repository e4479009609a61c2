"""The bots that are measured: ``python -m tests.benchmarks.telegram_bots NAME ORIGIN``.

Each imports only what it needs, so that its memory is its own.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import tempfile
from pathlib import Path
from typing import Any

TOKEN_VARIABLE = "BENCH_TOKEN"


class Echo:
    """The least that can be answered through the whole of our way."""

    def answer(self, _: Any, inbound: Any) -> Any:
        from scheduler.turn import Message, Outcome

        return Outcome(messages=(Message(inbound.text),))


async def bare_echo(origin: str) -> None:
    """The library's own application with one handler."""
    from telegram.ext import Application, ContextTypes, MessageHandler, filters

    async def echo(update: Any, context: ContextTypes.DEFAULT_TYPE) -> None:
        await context.bot.send_message(update.message.chat_id, update.message.text)

    app = Application.builder().token(os.environ[TOKEN_VARIABLE]).base_url(f"{origin}/bot").build()
    app.add_handler(MessageHandler(filters.TEXT, echo))
    async with app:
        await app.updater.start_polling(timeout=1)  # type: ignore[union-attr]
        await app.start()
        await terminated().wait()
        await app.updater.stop()  # type: ignore[union-attr]
        await app.stop()


async def ours(origin: str, answering: Any) -> None:
    """This tool's bot on a file of its own, everybody served."""
    from bot.messengers.telegram import TelegramSettings, serve
    from scheduler.clock import SystemClock
    from scheduler.runner import Tuning
    from tests.telegram.harness import Lines, open_store

    chats = frozenset(str(number) for number in range(1_000, 100_000))
    with tempfile.TemporaryDirectory() as folder:
        settings = TelegramSettings(os.environ[TOKEN_VARIABLE], Path(folder), chats, api_url=origin)
        store = await open_store(Path(folder))
        try:
            stop = terminated()
            await serve(settings, answering, store, SystemClock(), stop, words=Lines(), tuning=Tuning())
        finally:
            await store.close()


def terminated() -> asyncio.Event:
    """An event that SIGTERM sets."""
    stop = asyncio.Event()
    asyncio.get_running_loop().add_signal_handler(signal.SIGTERM, stop.set)
    return stop


def main(name: str, origin: str) -> None:
    """Be one of the bots until terminated."""
    if name == "echo":
        asyncio.run(bare_echo(origin))
    elif name == "store":
        asyncio.run(ours(origin, Echo()))
    else:
        from bot.conversation import Conversation

        asyncio.run(ours(origin, Conversation()))


if __name__ == "__main__":
    main(*sys.argv[1:])
