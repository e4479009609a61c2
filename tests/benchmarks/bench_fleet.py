"""What one chat, and a hundred thousand, need: costs measured here, a fleet reckoned and simulated from them.

``python -m tests.benchmarks.bench_fleet [--batches N]`` plays batches whole, from the plan to the pack,
on a PostgreSQL server of its own, and notes the processor time of every message and ring (the program's,
without the server's) and the bytes that a batch leaves. From these it says what fleets need, and plays
the busiest hour of each as a queue: messages and rings come at random, half of the rings on the full
quarter of an hour, each worker takes one at a time (a process reckons on one core), first come, first
served. The program itself answers beside ringing, so that messages wait less than here, and rings that
protect the food go first.
"""

from __future__ import annotations

import argparse
import asyncio
import heapq
import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np
from sqlalchemy import Connection, text

from bot.conversation import Conversation
from scheduler.arrivals import Arrival
from scheduler.clock import FakeClock
from scheduler.database import POSTGRES_THREADS
from scheduler.messenger import Sent
from scheduler.outbox import Outgoing
from scheduler.runner import Runner
from scheduler.store import Store
from scheduler.turn import Inbound
from tests.scheduler.servers import Server, postgresql

BEGIN = datetime(2026, 9, 11, 16, 0, tzinfo=UTC)
#: One batch as somebody may tell it: hours from its beginning, and words. Invented.
STORY = (
    (0.0, "4 lb coho fillets 1 inch thick skin on, 1 cup kosher per gallon, going in the brine now"),
    (0.1, "fridge 3 C"),
    (2.0, "what's next"),
    (8.0, "out of the brine and rinsed"),
    (8.3, "drying now, fan on, 55F, 60% RH"),
    (10.0, "what's next"),
    (11.0, "tacky"),
    (11.2, "in the smoker, chamber 180F"),
    (12.5, "core 120F"),
    (13.5, "core 150F"),
    (14.0, "core 162F"),
    (14.6, "core 163F"),
    (14.7, "out of the smoker"),
    (16.0, "core 68F"),
    (18.0, "core 39F"),
    (30.0, "packed in paper"),
)
#: How the fleet is used. Ours: nobody has counted it yet.
BATCHES_A_WEEK = 1.0
#: Share of a week's work: a fifth of a day that has three times its share.
BUSIEST_HOUR = 0.2 * 3 / 7
BUSY_SHARE = 0.5  # of a worker's core, so that what comes at once does not wait long
OVERALL_A_S = 30.0  # messages that one bot may send a second, by its messenger's rule
FLEETS = (1, 10, 100, 1_000, 10_000, 100_000)


@dataclass
class Costs:
    """Processor seconds of each message and of each moment that rang, and what a batch leaves behind."""

    messages_s: list[float] = field(default_factory=list)
    rings_s: list[float] = field(default_factory=list)
    sent: int = 0
    batches: int = 0
    bytes_a_batch: float = 0.0

    @property
    def work_s(self) -> float:
        """Processor seconds of a whole batch."""
        return (sum(self.messages_s) + sum(self.rings_s)) / self.batches


class Counted:
    """A messenger that takes everything, and counts."""

    def __init__(self, costs: Costs) -> None:
        self._costs = costs

    async def send(self, out: Outgoing) -> Sent:
        self._costs.sent += 1
        return Sent(str(self._costs.sent))

    async def edit(self, out: Outgoing) -> Sent:
        return await self.send(out)

    async def pin(self, chat: str, message: str) -> None:
        self._costs.sent += 1

    async def unpin(self, chat: str, message: str) -> None:
        self._costs.sent += 1

    async def close(self) -> None:
        pass


async def measure(server: Server, batches: int) -> Costs:
    """Play batches, each in a chat of its own."""
    costs = Costs(batches=batches)
    url = server.database()
    for number in range(-1, batches):  # the first warms everything up, and is not counted
        if number == 0:
            costs, before = Costs(batches=batches), await size(url)
        await play(url, f"c{number}", costs)
    costs.bytes_a_batch = (await size(url) - before) / batches
    return costs


async def play(url: str, chat: str, costs: Costs) -> None:
    """Tell the story in one chat, letting all ring that falls due on the way."""
    clock = FakeClock(BEGIN)
    store = await Store.open(url, clock=clock)
    runner = Runner(store, Conversation(cards=True), Counted(costs), clock)
    for number, (hours, words) in enumerate(STORY):
        moment, rung = BEGIN + timedelta(hours=hours), runner.turns.tally.rung
        start = time.process_time()
        await runner.advance_to(moment)
        if new := runner.turns.tally.rung - rung:
            costs.rings_s += [(time.process_time() - start) / new] * new
        start = time.process_time()
        await store.take_in([Arrival(Inbound(f"{chat}-{number}", chat, "p1", moment, words), None)])
        await runner.settle()
        costs.messages_s.append(time.process_time() - start)
    await store.close()


async def size(url: str) -> int:
    """Return how many bytes the tables and indexes take."""

    def look(c: Connection) -> int:
        return int(c.execute(text("SELECT pg_database_size(current_database())")).scalar_one())

    store = await Store.open(url)
    found = await store.look(look)
    await store.close()
    return found


@dataclass(frozen=True)
class Fleet:
    """What so many chats need."""

    chats: int
    workers: int
    sends_a_s: float
    gigabytes_a_year: float

    @property
    def connections(self) -> int:
        """To the server: each worker's threads, and one that listens."""
        return self.workers * (POSTGRES_THREADS + 1)

    @property
    def bots(self) -> int:
        """Bots that the messenger's overall rate asks for in the busiest hour."""
        return math.ceil(self.sends_a_s / OVERALL_A_S)


def fleet(costs: Costs, chats: int) -> Fleet:
    """Reckon a fleet from the measured costs."""
    batches_an_hour = chats * BATCHES_A_WEEK * BUSIEST_HOUR
    return Fleet(
        chats,
        max(1, math.ceil(batches_an_hour * costs.work_s / 3600.0 / BUSY_SHARE)),
        batches_an_hour * costs.sent / costs.batches / 3600.0,
        chats * BATCHES_A_WEEK * 52 * costs.bytes_a_batch / 1e9,
    )


def busiest_hour(costs: Costs, needed: Fleet, seed: int = 1) -> np.ndarray:
    """Play the busiest hour as a queue; how long each message and ring waited for its end, in seconds."""
    chance = np.random.default_rng(seed)
    batches = needed.chats * BATCHES_A_WEEK * BUSIEST_HOUR
    work: list[tuple[float, float]] = []
    for kind, samples in enumerate((costs.messages_s, costs.rings_s)):
        count = chance.poisson(batches * len(samples) / costs.batches)
        at = chance.uniform(0.0, 3600.0, count)
        if kind == 1:  # half of what rings is due on a full quarter of an hour
            at = np.where(chance.random(count) < 0.5, np.floor(at / 900.0) * 900.0, at)
        work += zip(at, chance.choice(samples, count), strict=True)
    return queue(sorted(work), needed.workers)


def queue(work: Sequence[tuple[float, float]], workers: int) -> np.ndarray:
    """First come, first served, by whichever worker is free first."""
    free = [0.0] * workers
    took = []
    for at, needs in work:
        end = max(at, heapq.heappop(free)) + needs
        heapq.heappush(free, end)
        took.append(end - at)
    return np.array(took)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.bench_fleet", description=__doc__)
    parser.add_argument("--batches", type=int, default=20)
    given = parser.parse_args()
    with postgresql() as server:
        costs = asyncio.run(measure(server, given.batches))
    print(f"a batch: {len(STORY)} messages, {len(costs.rings_s) / costs.batches:.1f} rings,", end=" ")
    print(f"{costs.sent / costs.batches:.1f} sends, edits and pins, {costs.bytes_a_batch / 1e3:.0f} kB")
    for name, samples in (("message", costs.messages_s), ("ring", costs.rings_s)):
        median, most = np.quantile(samples, [0.5, 0.99]) * 1e3
        print(f"processor time of a {name}: median {median:.0f} ms, p99 {most:.0f} ms")
    heads = ("workers", "connections", "sends/s", "bots", "GB/year", "p50 ms", "p99 ms", "most ms")
    print(f"{'chats':>8}" + "".join(f"{head:>13}" for head in heads))
    for chats in FLEETS:
        needed = fleet(costs, chats)
        took = busiest_hour(costs, needed) * 1e3
        waits = [f"{np.quantile(took, q):13.0f}" for q in (0.5, 0.99, 1.0)] if len(took) else [f"{'-':>13}"] * 3
        rest = f"{needed.sends_a_s:13.2f}{needed.bots:13}{needed.gigabytes_a_year:13.3f}"
        print(f"{chats:8}{needed.workers:13}{needed.connections:13}{rest}" + "".join(waits))


if __name__ == "__main__":
    main()
