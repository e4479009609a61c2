"""``brinebell telegram`` as a person starts it: a process of its own, told everything by its environment."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from pathlib import Path

from tests.telegram.harness import INVITE, answers
from tests.telegram.standin import StandIn

RUN = (sys.executable, "-c", "import sys; from bot.cli import main; sys.exit(main())")


async def started(folder: Path, *arguments: str, **settings: str) -> asyncio.subprocess.Process:
    """The command with these settings and no others."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("BRINEBELL_")}
    env = kept | {"HOME": str(folder), "BRINEBELL_DATA": str(folder / "data")}
    env |= {f"BRINEBELL_{name.upper()}": value for name, value in settings.items()}
    return await asyncio.create_subprocess_exec(
        *RUN, *arguments, env=env, stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.PIPE
    )


def command_line(pid: int) -> bytes:
    """What everybody on the machine can see of a process (Linux; empty elsewhere)."""
    shown = Path(f"/proc/{pid}/cmdline")
    return shown.read_bytes() if shown.exists() else b""


async def test_a_bot_is_started_talks_and_ends_when_told(telegram: StandIn, tmp_path: Path) -> None:
    world, ann = telegram.world, telegram.world.person("Ann")
    settings = {"token": telegram.token, "invite": INVITE, "api_url": telegram.origin}
    process = await started(tmp_path, "telegram", **settings)
    try:
        world.says(ann, INVITE)
        await world.until(lambda: world.said(ann), 30)
        world.says(ann, "a word in private")
        await answers(telegram, ann, 2)
        listed = command_line(process.pid)
    finally:
        process.send_signal(signal.SIGTERM)
        out, err = await process.communicate()
    assert process.returncode == 0
    for secret in (telegram.token, INVITE, "a word in private"):
        assert secret.encode() not in out + err
    assert telegram.token.encode() not in listed


async def test_without_a_token_and_with_a_wrong_one_there_is_one_line(telegram: StandIn, tmp_path: Path) -> None:
    for status, settings in ((2, {}), (1, {"token": "123456:wrong", "api_url": telegram.origin})):
        process = await started(tmp_path, "telegram", invite=INVITE, **settings)
        out, err = await process.communicate()
        assert (process.returncode, out) == (status, b"")
        lines = [line for line in err.decode().splitlines() if line.startswith("brinebell: ")]
        assert len(lines) == 1
        assert "@BotFather" in lines[0]
        assert "BRINEBELL_TOKEN" in lines[0]
        assert "Traceback" not in err.decode()
        assert "123456:wrong" not in err.decode()


async def test_a_second_bot_on_the_same_data_says_so_and_stops(telegram: StandIn, tmp_path: Path) -> None:
    settings = {"token": telegram.token, "invite": INVITE, "api_url": telegram.origin}
    first = await started(tmp_path, "telegram", **settings)
    try:
        await telegram.world.until(lambda: telegram.world.called("getUpdates"), 30)
        second = await started(tmp_path, "telegram", **settings)
        _, err = await second.communicate()
    finally:
        first.send_signal(signal.SIGTERM)
        await first.communicate()
    assert second.returncode == 1
    assert "another process works on" in err.decode()
