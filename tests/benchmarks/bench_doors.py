"""How long the doors take by themselves: help, and a replayed message with and without the talking layer.

Run as ``python -m tests.benchmarks.bench_doors``.
"""

from __future__ import annotations

import asyncio
import statistics
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from time import perf_counter

from bot.doors.answering import answering
from bot.doors.play import playing
from bot.doors.steps import Habits, Sent
from scheduler.turn import Answering
from tests.bot.doors.fakes import Parrot

START = datetime(2026, 9, 12, 0, 40, tzinfo=UTC)
MESSAGES = 200
WORDS = ("2 kg coho fillets, 25 mm", "fridge 2 C", "what's next", "in the brine now", "fridge 3 C", "why")


def process_s(*arguments: str) -> float:
    """Time of a whole process, the best of five."""
    command = [sys.executable, "-c", "from bot.cli import main; main()", *arguments]
    times = []
    for _ in range(5):
        begun = perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        times.append(perf_counter() - begun)
    return min(times)


async def messages_ms(talk: Answering, words: tuple[str, ...]) -> list[float]:
    """Time of each message of a conversation."""
    times = []
    async with playing(talk) as play:
        await play.take(Habits(zone="America/Vancouver", units="metric"))
        for number in range(MESSAGES):
            sent = Sent(START + timedelta(minutes=number), "c1", "ida", words[number % len(words)])
            begun = perf_counter()
            await play.take(sent)
            times.append((perf_counter() - begun) * 1000)
    return times


def main() -> None:
    """Print the table."""
    print(f"{'':44}{'median':>10}{'p99':>10}")
    print(f"{'brinebell --help, whole process':44}{process_s('--help') * 1000:8.0f} ms")
    print(f"{'brinebell replay --help, whole process':44}{process_s('replay', '--help') * 1000:8.0f} ms")
    for name, talk, words in (
        ("a replayed message, nothing to reckon", Parrot(), ("hello",)),
        ("a replayed message of a batch, all of it", answering(), WORDS),
    ):
        times = asyncio.run(messages_ms(talk, words))
        p99 = statistics.quantiles(times, n=100)[98]
        print(f"{name:44}{statistics.median(times):8.1f} ms{p99:7.1f} ms")


if __name__ == "__main__":
    main()
