"""A hostile messenger, a hostile machine, a hostile person: one run each, reckoned like the kills."""

from __future__ import annotations

import asyncio
import itertools
import logging
import os
import random
import signal
import sqlite3
import time
from collections import Counter
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import datetime, timedelta
from pathlib import Path

from scheduler import snapshots
from scheduler.clock import Clock, SystemClock
from scheduler.store import Store
from scheduler.turn import NewBatch, Outcome
from tests.faults import worker
from tests.faults.bench import PATIENCE_S, Report, forks, reckon, running, settled, talking, up
from tests.faults.world import Fault, World
from tests.scheduler.parts import until

FAULTS = ("retry_after", "error", "cut before", "cut after", "silence after")
UNSURE = ("cut before", "cut after", "silence after")
DAY = timedelta(days=1)
BIG = 40


class Shifted:
    """The machine's clock, set wrong by ``offset``."""

    offset = timedelta()

    def now(self) -> datetime:
        return SystemClock().now() + self.offset

    async def sleep_until(self, moment: datetime) -> None:
        raise NotImplementedError


class Troubles(logging.Handler):
    """Counts how often the database was found to be in trouble."""

    count = 0

    def emit(self, record: logging.LogRecord) -> None:
        self.count += 1


@asynccontextmanager
async def inside(world: World, url: str, clock: Clock | None = None) -> AsyncIterator[Store]:
    """Run a worker in this process, so that its store can be tampered with."""
    clock, port = clock or SystemClock(), await world.start()
    store = await Store.open(url, lease=worker.LEASE, clock=clock)
    task = asyncio.create_task(worker.work(store, clock, port))
    try:
        yield store
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        await store.close()
        await world.stop()


@asynccontextmanager
async def troubled(report: Report) -> AsyncIterator[None]:
    """Make sure that what the block does was noticed at all: else it shows nothing."""
    log, troubles = logging.getLogger("scheduler.persistence"), Troubles()
    log.addHandler(troubles)
    log.propagate = False
    try:
        yield
    finally:
        log.removeHandler(troubles)
        log.propagate = True
    if not troubles.count:
        report.inconsistent.append("nothing went wrong")


async def messenger(url: str, seconds: float) -> Report:
    """Answer a third of what is sent with something else than "taken"."""
    chance, sent, doubted = random.Random(7), Counter[str](), Counter[str]()
    blocking = [True]
    odd = itertools.cycle([*FAULTS, *[None] * 10])  # each of them, however little is sent

    def faults(chat: str, text: str) -> Fault | None:
        sent[chat] += 1
        if chat == "c2":
            return "moved"  # from its first message on
        if chat == "c1" and blocking and (sent[chat] == 1 or chance.random() < 0.1):
            return "gone"
        fault = next(odd)
        if fault not in UNSURE:
            return fault
        # A send that twice gets no answer is by policy not tried a third time: see scheduler.delivery.
        doubted[text] += 1
        return fault if doubted[text] == 1 else None

    world = World(faults=faults, repeats=0.2, shuffles=0.3, chats=24)
    async with running(world, url), talking(world, url):
        await asyncio.sleep(seconds)
        blocking.clear()
        await asyncio.sleep(0.5)
        world.say("c1")  # whoever had blocked the bot comes back, and so do the reminders
    report = Report(f"hostile messenger ({sum(world.injected.values())} faults)")
    missed = {"gone", "moved", *FAULTS} - set(world.injected)
    if missed:
        report.inconsistent.append(f"never happened: {missed}")
    return await reckon(report, world, url)


async def full_disk(url: str, seconds: float) -> Report:
    """Let the database grow no more, then make room."""
    return await _pragma("disk full", url, seconds, "max_page_count=1", "max_page_count=1073741823")


async def read_only(url: str, seconds: float) -> Report:
    """Let nothing be written, then let it."""
    return await _pragma("read-only", url, seconds, "query_only=ON", "query_only=OFF")


async def _pragma(name: str, url: str, seconds: float, worse: str, better: str) -> Report:
    world, report = World(), Report(name)
    async with inside(world, url) as store, talking(world, url):
        await asyncio.sleep(0.3)
        async with troubled(report):
            await store.look(lambda c: c.exec_driver_sql(f"PRAGMA {worse}"))
            for _ in range(BIG):  # more than the pages that are free in any case
                world.say(padding=" " + "x" * 4000)
            await asyncio.sleep(seconds)
            await store.look(lambda c: c.exec_driver_sql(f"PRAGMA {better}"))
            await asyncio.sleep(0.3)
    return await reckon(report, world, url)


async def locked(url: str, seconds: float) -> Report:
    """Let another process hold the database."""
    world, report = World(), Report("locked by another process")
    async with inside(world, url) as store, talking(world, url):
        await asyncio.sleep(0.3)
        await store.look(lambda c: c.exec_driver_sql("PRAGMA busy_timeout=50"))
        async with troubled(report):
            holder = forks.Process(target=_hold, args=(url.removeprefix("sqlite:///"), seconds))
            holder.start()
            await asyncio.to_thread(holder.join)
    return await reckon(report, world, url)


def _hold(path: str, seconds: float) -> None:
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("BEGIN EXCLUSIVE")
    time.sleep(seconds)
    connection.execute("ROLLBACK")


async def little_memory(url: str, seconds: float) -> Report:
    """Let answers want more memory than there is."""
    world = World()
    async with running(world, url, memory=worker.EATEN // 2) as _, talking(world, url):
        await up(world)
        for _ in range(3):
            world.put("c3", "eat")
        await asyncio.sleep(seconds)
    report = await reckon(Report("memory limit"), world, url)
    return await _aside(report, url, 3)


async def _aside(report: Report, url: str, expected: int) -> Report:
    store = await Store.open(url)
    aside = len(await store.aside())
    if aside != expected:
        report.inconsistent.append(f"{aside} set aside, not {expected}")
    await store.close()
    return report


async def wrong_clock(url: str, seconds: float) -> Report:
    """Set the clock back an hour, forward a day, and right again."""
    world, clock = World(), Shifted()
    async with inside(world, url, clock), talking(world, url):
        for offset in (timedelta(), -timedelta(hours=1), DAY, timedelta()):
            clock.offset = offset
            told = world.told
            await asyncio.sleep(seconds / 4)
            await _answered(world, told + 1)
        clock.offset = DAY  # and on the next day, what was wanted for it
    return await reckon(Report("clock back an hour, forward a day"), world, url)


async def _answered(world: World, number: int) -> None:
    """Wait until a message told since a change is answered: the bot is not deaf meanwhile."""
    await until(lambda: f"ack {number}" in world.texts, PATIENCE_S)


async def suspended(url: str, seconds: float, *, size: int = 1) -> Report:
    """Stop a worker in its tracks for longer than its lease, and let it go on."""
    world = World()
    async with running(world, url, size) as crew, talking(world, url):
        await up(world)
        await asyncio.sleep(0.5)
        pid = crew.members[0].pid
        assert pid is not None
        os.kill(pid, signal.SIGSTOP)
        await asyncio.sleep(worker.LEASE.total_seconds() + seconds)
        os.kill(pid, signal.SIGCONT)
        await asyncio.sleep(0.5)
    return await reckon(Report("suspended", allowed=1), world, url)


async def restarted(url: str, restart: Callable[[], None], times: int) -> Report:
    """Restart the server under load."""
    world = World()
    async with running(world, url, 2), talking(world, url):
        for _ in range(times):
            await up(world)
            await asyncio.sleep(0.7)
            await asyncio.to_thread(restart)
    return await reckon(Report(f"server restarted {times} times", allowed=times), world, url)


async def flood(url: str, messages: int) -> Report:
    """Let one chat write as fast as it can, as much as it can, while another asks something."""
    world = World(latency_s=0.0)
    for _ in range(messages):
        world.say("flood", " " + "x" * 4090)
    async with running(world, url):
        await up(world)
        for _ in range(5):
            await _answered(world, world.say("quiet"))
        before = sum(text.startswith("ack") and chat == "flood" for chat, text in world.delivered)
        await settled(world, url)
    report = await reckon(Report(f"flood of {messages}"), world, url)
    if before > messages / 2:
        report.inconsistent.append(f"the other chat waited for {before} of the flood")
    return report


async def forged(url: str, presses: int) -> Report:
    """Press buttons that nobody was shown."""
    world, chance = World(), random.Random(3)
    odd = (-1, 0, 2**31, 2**63 - 1, 2**63, 2**80, -(2**80))
    async with running(world, url), talking(world, url):
        await up(world)
        for i in range(presses):
            place = [chance.choice((*odd, chance.randrange(50))), chance.choice((*odd, 1))]
            world.put(f"c{i % 8}", f"press {i}", tap=place)
        await asyncio.sleep(0.5)
        await until(lambda: sum("press" in text for text in world.texts) == presses, PATIENCE_S)
    return await reckon(Report(f"{presses} forged presses"), world, url)


async def many_batches(url: str, batches: int) -> Report:
    """Let one chat have a great many batches open."""
    world = World(chats=1)
    store = await Store.open(url)
    now = SystemClock().now()
    for first in range(1, batches + 1, 1000):
        opened = tuple(NewBatch(n, str(n)) for n in range(first, min(first + 1000, batches + 1)))
        await store.commit(Outcome(opened=opened), None, await store.snapshot("c0", now), now)
    seen = await store.snapshot("c0", now)
    await store.close()
    async with running(world, url), talking(world, url):
        await asyncio.sleep(0.5)
    report = await reckon(Report(f"{batches} batches in one chat"), world, url)
    if len(seen.batches) > snapshots.RUNNING + snapshots.CLOSED:
        report.inconsistent.append(f"{len(seen.batches)} batches loaded")
    return report


def sqlite_url(folder: Path, name: str) -> str:
    """Return the address of a file for one run."""
    return f"sqlite:///{folder / name}.db"
