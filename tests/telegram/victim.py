"""A bot to be killed: ``python -m tests.telegram.victim ORIGIN FOLDER CHATS``."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import time
from dataclasses import replace
from pathlib import Path

from bot.messengers.telegram import TelegramSettings, serve, telegram_tuning
from scheduler.clock import SystemClock
from scheduler.runner import Tuning
from tests.telegram.harness import Lines, open_store
from tests.telegram.parrot import Parrot

#: Long enough for a kill to find messages in every state.
THINKS_S = 0.02


def one_in_flight() -> Tuning:
    """No send before the last was noted, however slow the disk: a kill doubles one message at most."""
    return Tuning(delivery=replace(telegram_tuning().delivery, patience_s=60.0))


async def main(origin: str, folder: str, chats: str) -> None:
    stop = asyncio.Event()
    asyncio.get_running_loop().add_signal_handler(signal.SIGTERM, stop.set)
    settings = TelegramSettings(
        token=os.environ["VICTIM_TOKEN"],
        data_dir=Path(folder),
        allowed=frozenset(chats.split(",")),
        api_url=origin,
    )
    store = await open_store(settings.data_dir)
    parrot = Parrot(before=lambda _: time.sleep(THINKS_S))
    try:
        await serve(settings, parrot, store, SystemClock(), stop, words=Lines(), tuning=one_in_flight())
    finally:
        await store.close()


if __name__ == "__main__":
    asyncio.run(main(*sys.argv[1:]))
