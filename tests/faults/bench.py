"""Running workers under faults, and reckoning afterwards what was lost, doubled or disordered."""

from __future__ import annotations

import asyncio
import contextlib
import itertools
import multiprocessing
import random
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from multiprocessing.process import BaseProcess

from sqlalchemy import Connection, select

from planner.entries import Kind
from scheduler.persistence import TROUBLE
from scheduler.store import Store
from scheduler.tables import outbox
from tests.faults import worker
from tests.faults.world import World
from tests.scheduler.parts import until

#: Messages told and not yet answered: as much as people write while a worker is down.
BACKLOG = 30
#: How long a worker may take until it asks for updates, on a machine that is busy with other things.
PATIENCE_S = 120.0
#: So many kills come whatever was done since the last; fewer than make a message suspect of killing.
WEAK = 2
#: Longer than any lease or retry of the bench and a slow start: nothing comes after such a silence.
STILL_S = 15.0

forks = multiprocessing.get_context("forkserver")
forks.set_forkserver_preload(["tests.faults.worker"])


@dataclass
class Report:
    """What came of a run. ``allowed`` doubles are one for each kill and each unsure send."""

    name: str
    took_s: float = 0.0
    kills: int = 0
    messages: int = 0
    reminders: int = 0
    lost_messages: int = 0
    lost_reminders: int = 0
    doubles: int = 0
    allowed: int = 0
    disorder: int = 0
    inconsistent: list[str] = field(default_factory=list)

    @property
    def met(self) -> bool:
        """Return whether every promise was kept."""
        lost = self.lost_messages + self.lost_reminders + self.disorder + len(self.inconsistent)
        return lost == 0 and self.doubles <= self.allowed


class Crew:
    """Worker processes on one database."""

    def __init__(self, url: str, port: int, size: int, without: str | None = None, memory: int | None = None) -> None:
        self._args = (url, port, without, memory)
        self._size = size
        self.members: list[BaseProcess] = []

    def fill(self) -> None:
        """Start as many as are missing."""
        self.members = [m for m in self.members if m.is_alive()]
        while len(self.members) < self._size:
            process = forks.Process(target=worker.main, args=self._args, daemon=True)
            process.start()
            self.members.append(process)

    async def kill(self, member: BaseProcess) -> None:
        """End a worker as a power cut would."""
        member.kill()
        await asyncio.to_thread(member.join)

    async def stop(self) -> None:
        """End them all."""
        for member in self.members:
            await self.kill(member)


@asynccontextmanager
async def running(
    world: World, url: str, size: int = 1, without: str | None = None, memory: int | None = None
) -> AsyncIterator[Crew]:
    """Run the world and a crew."""
    crew = Crew(url, await world.start(), size, without, memory)
    crew.fill()
    try:
        yield crew
    finally:
        await crew.stop()
        await world.stop()


@asynccontextmanager
async def talking(world: World, url: str) -> AsyncIterator[None]:
    """Let people write while the block runs, never much ahead of the answers; then wait for the rest."""
    task = asyncio.create_task(_talk(world))
    try:
        yield
    finally:
        task.cancel()
    await settled(world, url)


async def _talk(world: World) -> None:
    while True:
        answered = sum(text.startswith("ack") for text in world.texts)
        if world.told - answered < BACKLOG:
            world.say()
        await asyncio.sleep(0.004)


async def killing(
    name: str, url: str, kills: int, *, size: int = 1, without: str | None = None, seed: int = 1
) -> Report:
    """Kill workers at random moments of a long stream, and reckon up."""
    report = Report(name, kills=kills, allowed=kills)
    world, chance = World(repeats=0.1, seed=seed), random.Random(seed)
    async with running(world, url, size, without) as crew, talking(world, url):
        for kill in range(kills):
            await up(world)
            if kill % WEAK == 0:  # however slow the machine, there has to be work to be cut short
                await news(world)
            await asyncio.sleep(chance.uniform(0.02, 0.5))
            await crew.kill(chance.choice(crew.members))
            crew.fill()
    return await reckon(report, world, url)


async def up(world: World) -> None:
    """Wait until a worker asks for updates."""
    asked = world.asked
    await until(lambda: world.asked > asked, PATIENCE_S)


async def news(world: World) -> None:
    """Wait until something arrives that had not before, where something is to be said."""
    arrived = len(set(world.delivered))
    with contextlib.suppress(TimeoutError):
        await until(lambda: len(set(world.delivered)) > arrived, STILL_S)


async def settled(world: World, url: str) -> None:
    """Wait until nothing is left to do, or nothing new has come for long: however slow the machine is."""
    store = await Store.open(url, alone=False)
    seen, moved_at = (-1, -1), time.monotonic()
    while time.monotonic() < moved_at + STILL_S:
        if world.acknowledged == len(world.updates) and not await _left(store):
            break
        now = (world.acknowledged, len(set(world.delivered)))  # a text that comes once more is nothing new
        if now != seen:
            seen, moved_at = now, time.monotonic()
        await asyncio.sleep(0.1)
    await store.close()


async def _left(store: Store) -> int:
    try:
        counts = await store.counts()
    except TROUBLE:
        return 1
    return counts.waiting + counts.queued + counts.pending


async def reckon(report: Report, world: World, url: str) -> Report:
    """Hold what arrived and what was written down against what was told."""
    report.took_s = time.monotonic() - world.began
    texts = world.texts
    told = [str(n) for n in range(1, world.told + 1)]
    report.messages, report.reminders = len(told), len(told)
    store = await Store.open(url)
    excused = await store.look(_dropped)  # said to people who had blocked the bot
    arrived_or_excused = texts.keys() | excused
    report.lost_messages = sum(f"ack {n}" not in arrived_or_excused for n in told)
    report.lost_reminders = sum(f"ring {n}" not in arrived_or_excused for n in told)
    report.doubles = sum(count - 1 for count in texts.values())
    report.allowed += world.unsure
    written: list[str] = []
    for chat in sorted({chat for chat, _ in await store.batches()}):
        order = await _journal(store, chat, report)
        written += order
        first = dict.fromkeys(text for to, text in world.delivered if to == chat)
        arrived = [text.removeprefix("ack ") for text in first if text.removeprefix("ack ").isdigit()]
        if chat not in world.moved.values():
            places = {n: place for place, n in enumerate(order)}
            report.disorder += sum(places.get(a, 0) > places.get(b, 0) for a, b in itertools.pairwise(arrived))
    if sorted(written, key=int) != told:
        missing, twice = len(set(told) - set(written)), len(written) - len(set(written))
        report.inconsistent.append(f"{missing} not written down, {twice} twice")
    counts = await store.counts()
    if world.acknowledged < len(world.updates):
        report.inconsistent.append(f"{len(world.updates) - world.acknowledged} never fetched")
    if counts.waiting or counts.queued or counts.pending:
        report.inconsistent.append(f"left over: {counts}")
    await store.close()
    return report


def _dropped(c: Connection) -> set[str]:
    return set(c.execute(select(outbox.c.text).where(outbox.c.state == "gone")).scalars())


async def _journal(store: Store, chat: str, report: Report) -> list[str]:
    """Return the messages of a chat in the order of its journal, checking each batch."""
    order = []
    for _, listed in await store.batches(chat):
        batch = await store.batch(chat, listed.number)
        assert batch is not None
        if [e.number for e in batch.entries] != list(range(1, len(batch.entries) + 1)):
            report.inconsistent.append(f"numbers of {chat}/{listed.number}")
        told = [e.data["n"] for e in batch.entries if e.kind is Kind.MESSAGE]
        rung = [n for e in batch.entries if e.kind is Kind.RING for n in e.data["rung"]]
        if sorted(rung) != sorted(told):
            report.inconsistent.append(f"rings of {chat}/{listed.number}")
        order += told
    return order
