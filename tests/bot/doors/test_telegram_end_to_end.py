"""``brinebell telegram`` as it is started: a process, a stand-in messenger on loopback, a signal to stop."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sys
from collections.abc import AsyncIterator
from pathlib import Path

import pytest_asyncio

from tests.telegram.standin import TOKEN, StandIn

ROOT = Path(__file__).resolve().parents[3]
START = "import sys; from bot.cli import main; sys.exit(main())"


@pytest_asyncio.fixture
async def telegram() -> AsyncIterator[StandIn]:
    async with StandIn() as server:
        yield server


async def start(telegram: StandIn, data: Path, *arguments: str, **settings: str) -> asyncio.subprocess.Process:
    env = {
        **{name: value for name, value in os.environ.items() if not name.startswith("BRINEBELL_")},
        "HOME": str(data),
        "BRINEBELL_DATA": str(data / "data"),
        "BRINEBELL_TOKEN": TOKEN,
        "BRINEBELL_API_URL": telegram.origin,
        "BRINEBELL_INVITE": "open-sesame",
        **settings,
    }
    return await asyncio.create_subprocess_exec(
        sys.executable, "-c", START, "telegram", *arguments, cwd=ROOT, env=env, stderr=asyncio.subprocess.PIPE
    )


async def stop(process: asyncio.subprocess.Process, number: int = signal.SIGTERM) -> tuple[int, str]:
    process.send_signal(number)
    _, err = await asyncio.wait_for(process.communicate(), 30)
    assert process.returncode is not None
    return process.returncode, err.decode()


async def test_from_the_invite_word_to_a_plan_and_on_after_a_restart(telegram: StandIn, tmp_path: Path) -> None:
    world = telegram.world
    ida, stranger = world.person("Ida"), world.person("Somebody")
    bot = await start(telegram, tmp_path)
    world.says(stranger, "hello")
    await world.until(lambda: world.said(stranger), 30)
    world.says(ida, "open-sesame")
    await world.until(lambda: world.said(ida), 30)
    world.says(ida, "2 kg coho fillets, 25 mm, my very own recipe")
    await world.until(lambda: "brine" in world.said(ida)[-1].text, 30)
    assert len(world.said(stranger)) == 1
    status, err = await stop(bot)
    assert status == 0
    lines = [json.loads(line) for line in err.splitlines()]
    assert "my very own recipe" not in err
    assert "open-sesame" not in err
    assert TOKEN not in err
    assert [line["heard"] for line in lines if line["says"] == "answered"][-1] == "describe"

    count = len(world.said(ida))
    world.says(ida, "what's next")
    bot = await start(telegram, tmp_path)
    await world.until(lambda: len(world.said(ida)) > count, 30)
    assert (await stop(bot, signal.SIGINT))[0] == 0


async def test_a_second_process_on_the_same_file_is_refused(telegram: StandIn, tmp_path: Path) -> None:
    ida = telegram.world.person("Ida")
    bot = await start(telegram, tmp_path)
    telegram.world.says(ida, "open-sesame")
    await telegram.world.until(lambda: telegram.world.said(ida), 30)
    second = await start(telegram, tmp_path)
    _, err = await asyncio.wait_for(second.communicate(), 30)
    assert second.returncode == 1
    assert b"another process works on" in err
    assert (await stop(bot))[0] == 0


async def test_a_token_that_is_not_known(telegram: StandIn, tmp_path: Path) -> None:
    bot = await start(telegram, tmp_path, BRINEBELL_TOKEN="123456:not-a-bot-that-is-known-here")
    _, err = await asyncio.wait_for(bot.communicate(), 30)
    assert bot.returncode == 1
    last = err.decode().splitlines()[-1]
    assert last.startswith("brinebell: ")
    assert "BRINEBELL_TOKEN" in last
    assert b"not-a-bot-that-is-known-here" not in err


async def test_words_are_logged_where_asked(telegram: StandIn, tmp_path: Path) -> None:
    ida = telegram.world.person("Ida")
    bot = await start(telegram, tmp_path, BRINEBELL_ALLOWED_CHATS=str(ida.id), BRINEBELL_LOG_TEXTS="true")
    telegram.world.says(ida, "2 kg coho fillets")
    await telegram.world.until(lambda: telegram.world.said(ida), 30)
    _, err = await stop(bot)
    assert "2 kg coho fillets" in err


async def test_a_webhook_is_set_up(telegram: StandIn, tmp_path: Path, unused_tcp_port: int) -> None:
    bot = await start(
        telegram,
        tmp_path,
        "--webhook",
        BRINEBELL_WEBHOOK_URL="https://bell.example.org/in",
        BRINEBELL_WEBHOOK_SECRET="made-up-secret",
        BRINEBELL_WEBHOOK_LISTEN=f"127.0.0.1:{unused_tcp_port}",
    )
    await telegram.world.until(lambda: telegram.world.called("setWebhook"), 30)
    status, err = await stop(bot)
    assert status == 0
    assert "made-up-secret" not in err
