"""``brinebell chat``: the conversation in this terminal, in real time."""

from __future__ import annotations

import argparse
import asyncio
import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from bot.doors.answering import answering
from bot.doors.opening import Which, opened
from bot.doors.said import Said
from bot.doors.terminal import Terminal, plain_lines
from bot.doors.words import sorry
from bot.settings import Settings, load
from scheduler.clock import Clock, SystemClock
from scheduler.runner import Runner
from scheduler.store import Store

if TYPE_CHECKING:
    from prompt_toolkit import PromptSession

GREETING = "Type a message. A button is pressed by its word or its number, like /1. Ctrl-D leaves."


def run(arguments: argparse.Namespace) -> int:
    """Talk until the person leaves, or until the end of what is piped in."""
    settings = load(arguments.data)
    if sys.stdin.isatty() and sys.stdout.isatty():
        asyncio.run(converse(settings))
    else:
        asyncio.run(read_through(settings, _typed_lines()))
    return 0


async def read_through(settings: Settings, lines: Iterable[str], clock: Clock | None = None) -> None:
    """Take one message a line, print what is said to it, and return when all is said."""
    clock = clock or SystemClock()
    async with opened(settings, Which.TERMINAL) as store:
        terminal = Terminal(clock, settings.data, _print)
        talk = answering(settings.data, whole=store.all_batches_now)
        runner = Runner(store, talk, terminal, clock, sorry=sorry, watch=terminal.heed)
        await _say_all(store, runner, clock)
        for line in lines:
            try:
                await store.take_in([terminal.arrival(line)])
            except ValueError as error:
                print(error, flush=True)
            await _say_all(store, runner, clock)


async def _say_all(store: Store, runner: Runner, clock: Clock) -> None:
    """Answer and send, tries again included, until nothing waits."""
    while True:
        await runner.settle()
        waiting = [await store.next_inbound_at(), await store.next_out_at()]
        moments = [moment for moment in waiting if moment is not None]
        if not moments:
            return
        await clock.sleep_until(min(moments))


def _typed_lines() -> Iterable[str]:
    """Lines of standard input; what is no UTF-8 is shown as such and stops nothing."""
    for line in sys.stdin.buffer:
        yield line.decode("utf-8", errors="replace").rstrip("\r\n")


def _print(said: Said) -> None:
    print(*plain_lines(said, numbered=False), "", sep="\n", flush=True)


async def converse(settings: Settings) -> None:
    """Prompt, with reminders arriving above the prompt, until the person leaves."""
    from prompt_toolkit import PromptSession
    from prompt_toolkit.patch_stdout import patch_stdout

    clock = SystemClock()
    async with opened(settings, Which.TERMINAL) as store:
        terminal = Terminal(clock, settings.data, _Styled(settings).show)
        talk = answering(settings.data, whole=store.all_batches_now)
        runner = Runner(store, talk, terminal, clock, sorry=sorry, watch=terminal.heed)
        with patch_stdout():
            print(GREETING)
            running = asyncio.create_task(runner.run())
            typing = asyncio.create_task(_prompt(PromptSession("> "), store, terminal))
            try:
                await asyncio.wait({running, typing}, return_when=asyncio.FIRST_COMPLETED)
            finally:
                typing.cancel()
                await runner.stop()
                await asyncio.gather(running, typing)


async def _prompt(session: PromptSession[str], store: Store, terminal: Terminal) -> None:
    while True:
        try:
            line = await session.prompt_async()
            if line.strip():
                await store.take_in([terminal.arrival(line)])
        except (EOFError, KeyboardInterrupt, asyncio.CancelledError):
            return
        except ValueError as error:
            print(error)


class _Styled:
    """Prints with the time before and the first line, the answer, in bold."""

    def __init__(self, settings: Settings) -> None:
        self._zone = ZoneInfo(settings.zone_name())

    def show(self, said: Said) -> None:
        """Print one message."""
        from prompt_toolkit import print_formatted_text
        from prompt_toolkit.formatted_text import FormattedText

        first, *more = plain_lines(said, numbered=True)
        parts = [("ansibrightblack", f"{said.at.astimezone(self._zone):%H:%M} "), ("bold", f"{first}\n")]
        print_formatted_text(FormattedText([*parts, *(("", f"      {line}\n") for line in more)]))
