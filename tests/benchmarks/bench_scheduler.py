"""Reminders due together, a store that is full, and claims by several workers, beside their peers.

``python -m tests.benchmarks.bench_scheduler [--pending N]`` prints the tables. The peers run in the
same call on the same machine: APScheduler's own SQLAlchemy job store on SQLite, procrastinate on the
same PostgreSQL server. ``--pending`` is how many reminders stand in the server (1,000,000 for the full
table; it takes some minutes to fill).
"""

from __future__ import annotations

import argparse
import asyncio
import multiprocessing
import resource
import tempfile
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, create_engine, event, insert, text

from scheduler.clock import SystemClock
from scheduler.database import Database
from scheduler.messenger import Sent
from scheduler.outbox import Outgoing
from scheduler.runner import Runner
from scheduler.store import Store
from scheduler.tables import reminders
from scheduler.turn import Due, Inbound, Outcome, Snapshot
from tests.scheduler.parts import until
from tests.scheduler.servers import Server, postgresql

DUE = 1_000
PATIENCE_S = 180
CLOCK = SystemClock()
forks = multiprocessing.get_context("spawn")


class Quiet:
    """Answers and sends nothing: what is measured is the scheduler."""

    def answer(self, snapshot: Snapshot, inbound: Inbound) -> Outcome:
        return Outcome()

    def ring(self, snapshot: Snapshot, due: Due) -> Outcome:
        return Outcome()

    async def send(self, out: Outgoing) -> Sent:
        return Sent()

    async def edit(self, out: Outgoing) -> Sent:
        return Sent()

    async def close(self) -> None:
        pass


def fill(c: Connection, count: int, due: Callable[[int], datetime]) -> None:
    """Put reminders in, as matching would, ten thousand at a time."""
    for first in range(0, count, 10_000):
        rows = [
            {
                "chat": f"c{i}", "batch": 1, "key": "k", "due": due(i), "call_at": due(i), "what": "pull",
                "stage": "soak", "protects": False, "data": {},
            }
            for i in range(first, min(first + 10_000, count))
        ]  # fmt: skip
        c.execute(insert(reminders), rows)


@asynccontextmanager
async def held_up() -> AsyncIterator[list[float]]:
    """Note for how long at a time the event loop did not come round, in seconds."""
    holds: list[float] = []

    async def watch() -> None:
        while True:
            start = time.perf_counter()
            await asyncio.sleep(0.001)
            holds.append(time.perf_counter() - start - 0.001)

    task = asyncio.create_task(watch())
    try:
        yield holds
    finally:
        task.cancel()


def at(values: list[float], share: float) -> float:
    """Return the value below which ``share`` of the values lie."""
    return sorted(values)[min(len(values) - 1, int(share * len(values)))]


def row(name: str, late: list[float], holds: list[float]) -> str:
    late_ms = [1e3 * at(late, share) for share in (0.5, 0.99)]
    return f"{name:52}{len(late):7}{late_ms[0]:9.0f}{late_ms[1]:9.0f}{1e3 * max(holds):9.1f}"


async def ours(url: str) -> tuple[list[float], list[float]]:
    """Let our runner claim and ring what is due in the same second."""
    store, late = await Store.open(url), []
    due = CLOCK.now() + timedelta(seconds=2)
    await store._db.write(fill, DUE, lambda _: due)
    claim = store.claim_due

    async def claim_due(now: datetime, limit: int = 100) -> Any:
        items = await claim(now, limit)
        late.extend([(CLOCK.now() - item.ring.due).total_seconds() for item in items])
        return items

    store.claim_due = claim_due  # type: ignore[method-assign]
    quiet = Quiet()
    runner = Runner(store, quiet, quiet, CLOCK)
    task = asyncio.create_task(runner.run())
    await asyncio.sleep(1)
    async with held_up() as holds:
        await until(lambda: len(late) >= DUE and runner.turns.tally.rung >= DUE, PATIENCE_S)
    await runner.stop()
    await task
    await store.close()
    return late, holds


async def apschedulers(path: Path) -> tuple[list[float], list[float]]:
    """Let APScheduler with its own job store run what is due in the same second."""
    from apscheduler.jobstores.sqlalchemy import SQLAlchemyJobStore
    from apscheduler.schedulers.asyncio import AsyncIOScheduler

    LATE.clear()
    engine = create_engine(f"sqlite:///{path}")
    sync = ["OFF"]  # while they are put in, which is not what is measured
    event.listen(engine, "begin", lambda c: c.exec_driver_sql(f"PRAGMA synchronous={sync[0]}"))
    scheduler = AsyncIOScheduler(
        timezone="UTC",
        jobstores={"default": SQLAlchemyJobStore(engine=engine)},
        job_defaults={"misfire_grace_time": None},
    )
    scheduler.start(paused=True)
    due = datetime.now(UTC) + timedelta(seconds=10)
    for i in range(DUE):
        scheduler.add_job(note, "date", run_date=due, args=[due.timestamp()], id=str(i))
    sync[0] = "FULL"
    scheduler.resume()
    async with held_up() as holds:
        await asyncio.sleep(max(0.0, due.timestamp() - time.time()))
        await until(lambda: len(LATE) >= DUE, PATIENCE_S)
    scheduler.shutdown(wait=False)
    return list(LATE), holds


LATE: list[float] = []


async def note(due: float) -> None:
    """Note how late a peer calls."""
    LATE.append(time.time() - due)


async def procrastinates(server: Server, pending: int) -> tuple[list[float], list[float]]:
    """Let procrastinate run what is due in the same second."""
    import procrastinate

    LATE.clear()
    app = procrastinate.App(connector=procrastinate.PsycopgConnector(conninfo=server.database()))
    task = app.task(note, name="note")
    async with app.open_async():
        await app.schema_manager.apply_schema_async()
        far = datetime.now(UTC) + timedelta(days=30)
        for first in range(0, pending, 5_000):
            later = task.configure(schedule_at=far)
            await later.batch_defer_async(*[{"due": 0.0}] * min(5_000, pending - first))
        due = datetime.now(UTC) + timedelta(seconds=8)
        await task.configure(schedule_at=due).batch_defer_async(*[{"due": due.timestamp()}] * DUE)
        worker = asyncio.create_task(
            app.run_worker_async(concurrency=30, fetch_job_polling_interval=0.5, install_signal_handlers=False)
        )
        async with held_up() as holds:
            await until(lambda: len(LATE) >= DUE, PATIENCE_S)
        worker.cancel()
        await asyncio.gather(worker, return_exceptions=True)
    return list(LATE), holds


async def together(server: Server, pending: int) -> None:
    """Print the table of reminders due in the same second."""
    print(f"{DUE} reminders due at one moment: how late they are claimed (peers: called), in ms")
    print(f"{'':52}{'called':>7}{'p50':>9}{'p99':>9}{'loop held':>10}")
    with tempfile.TemporaryDirectory() as folder:
        print(row("ours, SQLite", *await ours(f"sqlite:///{folder}/ours.db")), flush=True)
        print(row("APScheduler's job store, SQLite", *await apschedulers(Path(folder) / "aps.db")), flush=True)
    url = server.database()
    store = await Store.open(url)
    far = CLOCK.now() + timedelta(days=30)
    await store._db.write(lambda c: _fill_far(c, pending, far))
    await store.close()
    print(row(f"ours, PostgreSQL, {pending} others pending", *await ours(url)), flush=True)
    print(
        row(f"procrastinate, {min(pending, 100_000)} others pending",
            *await procrastinates(server, min(pending, 100_000))), flush=True,
    )  # fmt: skip


def _fill_far(c: Connection, count: int, far: datetime) -> None:
    """Let the server itself put in reminders of the far future: a million in seconds."""
    stamp = int(far.timestamp() * 1e6)
    c.execute(
        text(
            "INSERT INTO reminders (chat, batch, key, due, call_at, what, stage, protects, data, again,"
            " state, failures) SELECT 'far' || i, 1, 'k', :stamp + i, :stamp + i, 'pull', 'soak', false,"
            " '{}', 0, 'pending', 0 FROM generate_series(1, :count) AS i"
        ),
        {"stamp": stamp, "count": count},
    )


def claimer(url: str, seconds: float, limit: int, counted: Any) -> None:
    """Claim and mark as rung for some seconds; count how many."""
    database, total, ends = Database(url), 0, time.monotonic() + seconds
    from scheduler.reminders import claim, take

    def turn(c: Connection) -> int:
        items = claim(c, worker, CLOCK.now(), limit)
        take(c, items, worker, "rung")
        return len(items)

    worker = f"w{time.monotonic_ns()}"
    while time.monotonic() < ends:
        total += database.write_now(turn)
    counted.put(total)
    database.close()


def claims(server: Server, pending: int) -> None:
    """Print how many reminders workers claim and mark in a second, with how many pending."""
    print("\nreminders claimed and marked a second, PostgreSQL, tens in a transaction")
    print(f"{'pending':>12}" + "".join(f"{n:>4} workers" for n in (1, 2, 4)))
    for count in sorted({10_000, pending}):
        url = server.database()
        database = Database(url)
        from scheduler import schema

        database.write_now(schema.upgrade)
        database.write_now(_fill_far, count, CLOCK.now() - timedelta(days=1))
        with database.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as c:
            c.execute(text("VACUUM ANALYZE reminders"))
        database.close()
        rates = [_rate(url, size) for size in (1, 2, 4)]
        print(f"{count:>12}" + "".join(f"{rate:>12.0f}" for rate in rates), flush=True)


def _rate(url: str, size: int, seconds: float = 2.0) -> float:
    counted = forks.Queue()
    crew = [forks.Process(target=claimer, args=(url, seconds, 10, counted)) for _ in range(size)]
    for member in crew:
        member.start()
    total = sum(counted.get() for _ in crew)
    for member in crew:
        member.join()
    return float(total) / seconds


def opening(path: str, counted: Any) -> None:
    """Open a store and look what is due: how long that takes, and what memory it needs."""

    async def look() -> float:
        start = time.perf_counter()
        store = await Store.open(f"sqlite:///{path}")
        await store.next_inbound(CLOCK.now())
        await store.claim_due(CLOCK.now())
        took = time.perf_counter() - start
        await store.close()
        return took

    took = asyncio.run(look())
    counted.put((took, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024))


def full() -> Iterator[str]:
    """Tell how a store with much in it starts."""
    yield "\nready to answer (SQLite), and the memory of the process"
    for count in (100, 100_000):
        with tempfile.TemporaryDirectory() as folder:
            path = f"{folder}/store.db"

            async def make(path: str = path, count: int = count) -> None:
                store = await Store.open(f"sqlite:///{path}")
                far = CLOCK.now() + timedelta(days=1)
                await store._db.write(fill, count, lambda i: far + timedelta(seconds=i))
                await store.close()

            asyncio.run(make())
            counted = forks.Queue()
            process = forks.Process(target=opening, args=(path, counted))
            process.start()
            took, memory = counted.get()
            process.join()
            yield f"{count:>12} pending{took * 1e3:>9.0f} ms{memory:>8.0f} MB"


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.bench_scheduler", description=__doc__)
    parser.add_argument("--pending", type=int, default=100_000)
    pending = parser.parse_args().pending
    with postgresql() as server:
        asyncio.run(together(server, pending))
        claims(server, pending)
    for line in full():
        print(line, flush=True)


if __name__ == "__main__":
    main()
