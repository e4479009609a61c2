"""``brinebell telegram`` as it is started: a process, a stand-in messenger on loopback, a signal to stop."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sys
from collections.abc import AsyncIterator, Awaitable, Callable
from pathlib import Path

import pytest_asyncio

from tests.telegram.standin import TOKEN, StandIn

ROOT = Path(__file__).resolve().parents[3]
INVITE = "open-sesame"
START = "import sys; from bot.cli import main; sys.exit(main())"


@pytest_asyncio.fixture
async def telegram() -> AsyncIterator[StandIn]:
    async with StandIn() as server:
        yield server


Start = Callable[..., Awaitable[asyncio.subprocess.Process]]


@pytest_asyncio.fixture
async def start(telegram: StandIn, tmp_path: Path) -> AsyncIterator[Start]:
    """Starts the command with these settings and no others; what still runs at the end is killed."""
    started = []

    async def run(*arguments: str, **settings: str) -> asyncio.subprocess.Process:
        kept = {name: value for name, value in os.environ.items() if not name.startswith("BRINEBELL_")}
        own = {"data": str(tmp_path / "data"), "token": TOKEN, "api_url": telegram.origin, "invite": INVITE}
        set_ = {f"BRINEBELL_{name.upper()}": value for name, value in (own | settings).items()}
        process = await asyncio.create_subprocess_exec(
            *(sys.executable, "-c", START, "telegram", *arguments),
            cwd=ROOT,
            env=kept | {"HOME": str(tmp_path)} | set_,
            stderr=asyncio.subprocess.PIPE,
        )
        started.append(process)
        return process

    yield run
    for process in started:
        if process.returncode is None:
            process.kill()
            await process.communicate()


async def stop(process: asyncio.subprocess.Process, number: int = signal.SIGTERM) -> tuple[int | None, str]:
    process.send_signal(number)
    _, err = await asyncio.wait_for(process.communicate(), 30)
    return process.returncode, err.decode()


async def test_from_the_invite_word_to_a_plan_and_on_after_a_restart(telegram: StandIn, start: Start) -> None:
    world = telegram.world
    ida, stranger = world.person("Ida"), world.person("Somebody")
    bot = await start()
    world.says(stranger, "hello")
    await world.until(lambda: world.said(stranger), 30)
    world.says(ida, INVITE)
    await world.until(lambda: world.said(ida), 30)
    world.says(ida, "2 kg coho fillets, 25 mm, my very own recipe")
    await world.until(lambda: len(world.rooms[ida.id].pinned) == 1, 30)
    *_, plan, card = world.said(ida)
    assert "ready to pack" in plan.text
    assert card.text.startswith("Coho: waiting to go into the brine.")
    assert len(world.said(stranger)) == 1
    status, err = await stop(bot)
    assert status == 0
    lines = [json.loads(line) for line in err.splitlines()]
    assert "my very own recipe" not in err
    assert INVITE not in err
    assert TOKEN not in err
    assert [line["heard"] for line in lines if line["says"] == "answered"][-1] == "describe"

    count = len(world.said(ida))
    world.says(ida, "in the brine now")
    bot = await start()
    await world.until(lambda: card.text.startswith("Coho: soaking since"), 30)
    assert len(world.said(ida)) == count + 1
    assert world.rooms[ida.id].pinned == [card.id]
    assert (await stop(bot, signal.SIGINT))[0] == 0


async def test_words_are_logged_where_asked(telegram: StandIn, start: Start) -> None:
    ida = telegram.world.person("Ida")
    bot = await start(allowed_chats=str(ida.id), log_texts="true")
    telegram.world.says(ida, "2 kg coho fillets")
    await telegram.world.until(lambda: telegram.world.said(ida), 30)
    _, err = await stop(bot)
    assert "2 kg coho fillets" in err


async def test_a_webhook_is_set_up(telegram: StandIn, start: Start, unused_tcp_port: int) -> None:
    bot = await start(
        "--webhook",
        webhook_url="https://bell.example.org/in",
        webhook_secret="made-up-secret",
        webhook_listen=f"127.0.0.1:{unused_tcp_port}",
    )
    await telegram.world.until(lambda: telegram.world.called("setWebhook"), 30)
    status, err = await stop(bot)
    assert status == 0
    assert "made-up-secret" not in err
