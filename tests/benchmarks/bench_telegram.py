"""Message in to reply out over the loopback Bot API, against a bare echo bot of the same library.

``python -m tests.benchmarks.bench_telegram`` prints the table. Each bot runs in a process of its own
and gets one message at a time; the time is from the update's being there for it to its sendMessage.
Bots take turns, so that a busy machine is as busy for each. Ours goes the whole way, inbox, journal
and outbox committed with full sync. Rates of sending are off, for the echo bot has none.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import os
import signal
import statistics
import sys
import time
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from pathlib import Path

from tests.benchmarks.telegram_bots import TOKEN_VARIABLE
from tests.telegram.standin import StandIn
from tests.telegram.world import Person

ROUNDS, WARM_UP = 5, 10
#: A bot is left to finish, and to note what it has sent, before the next message comes.
REST_S = 0.02
PATIENCE_S = 20.0
PLANS = "4 lb coho fillets 1 inch thick skin on, 1 cup kosher per gallon, going in the brine now"


@dataclass(frozen=True)
class Case:
    """Which bot is asked what; in one chat after ``first`` was said there, or in a new chat each time."""

    bot: str
    text: str
    first: str | None = None


CASES = {
    "bare echo of the library": Case("echo", "what's next"),
    "ours, answer echoed": Case("store", "what's next"),
    "ours, plan does not change": Case("conversation", "what's next", first=PLANS),
    "ours, reading moves the plan": Case("conversation", "fridge 3 C", first=PLANS),
    "ours, new batch planned": Case("conversation", PLANS),
}


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
        command = (sys.executable, "-m", "tests.benchmarks.telegram_bots", name, telegram.origin)
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
    while (sent := next((c for c in world.calls[before:] if c.method == "sendMessage"), None)) is None:
        await asyncio.wait_for(world.calling.wait(), PATIENCE_S)
    await quiet(telegram)
    return (sent.at - started) * 1000


async def quiet(telegram: StandIn) -> None:
    """Wait until the bot has said all it has to say."""
    calls = -1
    while calls != len(telegram.world.calls):
        calls = len(telegram.world.calls)
        await asyncio.sleep(REST_S)


async def measure(count: int) -> dict[str, Row]:
    """Every case, the bots taking turns."""
    rows = {name: Row() for name in CASES}
    async with contextlib.AsyncExitStack() as stack:
        bots = {name: await stack.enter_async_context(at_work(case.bot)) for name, case in CASES.items()}
        for name, case in CASES.items():
            await a_round(bots[name], Row(), case, WARM_UP)
        for _ in range(ROUNDS):
            for name, case in CASES.items():
                await a_round(bots[name], rows[name], case, count // ROUNDS)
    return rows


async def a_round(bot: Bot, row: Row, case: Case, count: int) -> None:
    """So many messages to one bot, one after the other."""
    world = bot.telegram.world
    who = world.person("Ann")
    if case.first is not None:
        await one(bot.telegram, who, case.first)
    before = bot.cpu_ms()
    for _ in range(count):
        if case.first is None:
            who = world.person("Ann")
        row.times_ms.append(await one(bot.telegram, who, case.text))
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
    parser.add_argument("--count", type=int, default=200, help="messages to each bot")
    given = parser.parse_args()
    print(table(asyncio.run(measure(given.count))))


if __name__ == "__main__":
    main()
