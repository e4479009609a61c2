"""Message in to reply out over the loopback Bot API, against a bare echo bot of the same library.

``python -m tests.benchmarks.bench_telegram`` prints the table. Each bot runs in a process of its own
and gets one message at a time, each from a chat of its own; the time is from the update's being there
for it to its sendMessage. Bots take turns, so that a busy machine is as busy for each. Ours goes the
whole way: inbox, journal and outbox in three commits with full sync. Rates of sending are off, for
the echo bot has none.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import os
import signal
import statistics
import sys
import tempfile
import time
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from scheduler.clock import SystemClock
from scheduler.runner import Tuning
from scheduler.turn import Answering, Inbound, Message, Outcome, Snapshot
from tests.telegram.harness import Lines, open_store
from tests.telegram.standin import StandIn
from tests.telegram.world import Person

TOKEN_VARIABLE = "BENCH_TOKEN"
ROUNDS, WARM_UP = 5, 10
#: A bot notes what it has sent before the next message comes, as with people.
REST_S = 0.01
PATIENCE_S = 20.0
#: What is said, and to which bot: an entry-less remark, and one from which a batch is planned.
ASKS = "what's next"
PLANS = "4 lb coho fillets 1 inch thick skin on, 1 cup kosher per gallon, going in the brine now"


class Echo:
    """The least that can be answered through the whole of our way."""

    def answer(self, _: Snapshot, inbound: Inbound) -> Outcome:
        return Outcome(messages=(Message(inbound.text),))

    def ring(self, _: Snapshot, __: object) -> Outcome:
        return Outcome()


# -- the bots, each in a process of its own


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


async def ours(origin: str, answering: Answering) -> None:
    """This tool's bot on a file of its own, everybody served."""
    from bot.messengers.telegram import TelegramSettings, serve

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


def run_bot(name: str, origin: str) -> None:
    """Be one of the bots until terminated."""
    if name == "echo":
        asyncio.run(bare_echo(origin))
    elif name == "store":
        asyncio.run(ours(origin, Echo()))
    else:
        from bot.conversation import Conversation

        asyncio.run(ours(origin, Conversation()))


# -- the measurement


@dataclass
class Row:
    """What was measured of one bot and one kind of message."""

    times_ms: list[float] = field(default_factory=list)
    cpu_ms: float = 0.0
    resident_mb: float = 0.0


@dataclass(frozen=True)
class Bot:
    """A bot at work on a stand-in of its own."""

    telegram: StandIn
    pid: int

    def cpu_ms(self) -> float:
        """Processor time used so far, in milliseconds (Linux, /proc/PID/stat fields 14 and 15)."""
        fields = Path(f"/proc/{self.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) * 1000 / os.sysconf("SC_CLK_TCK")

    def resident_mb(self) -> float:
        """Memory resident now, in megabytes (Linux, /proc/PID/statm field 2)."""
        pages = int(Path(f"/proc/{self.pid}/statm").read_text().split()[1])
        return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


@contextlib.asynccontextmanager
async def at_work(name: str) -> AsyncIterator[Bot]:
    """A bot polling a stand-in of its own."""
    async with StandIn() as telegram:
        command = (sys.executable, "-m", "tests.benchmarks.bench_telegram", "--bot", name, telegram.origin)
        process = await asyncio.create_subprocess_exec(*command, env=os.environ | {TOKEN_VARIABLE: telegram.token})
        try:
            await telegram.world.until(lambda: telegram.world.called("getUpdates"), 30)
            yield Bot(telegram, process.pid)
        finally:
            process.send_signal(signal.SIGTERM)
            await process.wait()


async def one(telegram: StandIn, who: Person, text: str) -> float:
    """How long the reply to one message takes, in milliseconds."""
    world = telegram.world
    before, started = len(world.calls), time.monotonic()
    world.says(who, text)
    while True:
        calling = world.calling
        sent = next((call for call in world.calls[before:] if call.method == "sendMessage"), None)
        if sent is not None:
            break
        await asyncio.wait_for(calling.wait(), PATIENCE_S)
    await asyncio.sleep(REST_S)
    return (sent.at - started) * 1000


async def measure(asks: dict[str, tuple[str, str]], count: int) -> dict[str, Row]:
    """Every row, the bots taking turns."""
    rows = {name: Row() for name in asks}
    async with contextlib.AsyncExitStack() as stack:
        bots = {name: await stack.enter_async_context(at_work(bot)) for name, (bot, _) in asks.items()}
        for name, (_, text) in asks.items():
            await a_round(bots[name], Row(), text, WARM_UP)
        for _ in range(ROUNDS):
            for name, (_, text) in asks.items():
                await a_round(bots[name], rows[name], text, count // ROUNDS)
    return rows


async def a_round(bot: Bot, row: Row, text: str, count: int) -> None:
    """So many messages to one bot, one after the other."""
    before = bot.cpu_ms()
    for _ in range(count):
        row.times_ms.append(await one(bot.telegram, bot.telegram.world.person("Ann"), text))
    row.cpu_ms += bot.cpu_ms() - before
    row.resident_mb = bot.resident_mb()


def table(rows: dict[str, Row]) -> str:
    """The rows, each with its ratio to the bare echo's median."""
    heads = ("n", "p50 ms", "p90 ms", "p99 ms", "p50/echo", "p99/p50", "cpu ms", "RSS MB")
    lines = [f"{'':28}" + "".join(f"{head:>9}" for head in heads)]
    echo = statistics.median(next(iter(rows.values())).times_ms)
    for name, row in rows.items():
        cuts, n = statistics.quantiles(row.times_ms, n=100, method="inclusive"), len(row.times_ms)
        p50, p90, p99 = cuts[49], cuts[89], cuts[98]
        figures = (p50, p90, p99, p50 / echo, p99 / p50, row.cpu_ms / n, row.resident_mb)
        lines.append(f"{name:28}{n:9}" + "".join(f"{figure:9.2f}" for figure in figures))
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=300, help="messages to each bot")
    parser.add_argument("--bot", nargs=2, metavar=("NAME", "ORIGIN"), help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.bot:
        run_bot(*given.bot)
        return
    asks = {"bare echo of the library": ("echo", ASKS), "ours, answer echoed": ("store", ASKS)}
    if find_spec("bot.conversation"):
        asks["ours, plan does not change"] = ("conversation", ASKS)
        asks["ours, batch planned"] = ("conversation", PLANS)
    print(table(asyncio.run(measure(asks, given.count))))


if __name__ == "__main__":
    main()
