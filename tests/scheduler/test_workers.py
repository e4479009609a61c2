"""Running live: several workers on one database, one that dies, stopping, trouble with the database."""

from __future__ import annotations

import asyncio
from collections import Counter
from datetime import timedelta

import pytest
from sqlalchemy import text, update
from sqlalchemy.exc import OperationalError

from scheduler import membership
from scheduler.clock import SystemClock
from scheduler.errors import LeaseLost
from scheduler.runner import Runner
from scheduler.store import Store
from scheduler.tables import workers
from scheduler.turn import Message, Outcome
from tests.scheduler.parts import T0, Made, Noted, arrival, opening, ring, until

CLOCK = SystemClock()


class Running:
    """A worker at work: its store, what it said, and how to stop it."""

    def __init__(self, store: Store, made: Made) -> None:
        self.store, self.made, self.out = store, made, Noted(CLOCK)
        self.runner = Runner(store, made, self.out, CLOCK)
        self.task = asyncio.create_task(self.runner.run())

    async def stop(self) -> None:
        await self.runner.stop()
        await self.task
        await self.store.close()


async def test_in_and_out_and_a_reminder(url):
    made = Made(opening(ring("pull", CLOCK.now() + timedelta(seconds=0.3))))
    worker = Running(await Store.open(url), made)
    await worker.store.take_in([arrival("u1")])
    await until(lambda: len(worker.out.sent) == 2)
    assert worker.out.texts == ["opened 1", "ring pull"]
    (due,) = [a for a in made.asked if hasattr(a, "late_s")]
    assert 0 <= due.late_s < 5
    await worker.stop()
    assert worker.out.closed


async def test_workers_share_the_work_and_double_none_of_it(shared):
    made = [Made(opening(ring("pull", T0))) for _ in range(3)]
    workers = [Running(await Store.open(shared), m) for m in made]
    door = await Store.open(shared)
    await door.take_in([arrival(f"u{i}", f"c{i % 30}") for i in range(90)])
    await until(lambda: sum(len(w.out.sent) for w in workers) >= 180)
    for w in workers:
        await w.stop()
    said = Counter((chat, text) for w in workers for _, chat, text in w.out.sent)
    assert set(said) == {
        (f"c{c}", words) for c in range(30) for words in ("opened 1", "opened 2", "opened 3", "ring pull")
    }
    assert sum(n for (_, words), n in said.items() if words == "ring pull") == 90
    assert all(n == 1 for (_, words), n in said.items() if words != "ring pull")
    assert await door.next_due() is None
    await door.close()


async def test_what_another_process_takes_in_is_answered_at_once(shared):
    worker = Running(await Store.open(shared), Made())
    door = await Store.open(shared)
    await asyncio.sleep(0.3)  # it listens by now, and looks by itself only after five seconds
    start = asyncio.get_running_loop().time()
    await door.take_in([arrival("u1", text="hi")])
    await until(lambda: worker.out.texts == ["heard hi"])
    assert asyncio.get_running_loop().time() - start < worker.runner._tuning.look_s / 2
    await worker.stop()
    await door.close()


async def test_a_dead_workers_work_is_taken_over_when_its_lease_is_over(shared):
    dead = await Store.open(shared)
    await dead.take_in([arrival("u1", "c1", "a"), arrival("u2", "c2", "b")])
    (one,) = await dead.next_inbound(CLOCK.now())
    seen = await dead.snapshot("c1", CLOCK.now())
    await dead.commit(Outcome(messages=(Message("said"),), rings={None: (ring("pull", T0),)}), one, seen, T0)
    assert len(await dead.next_inbound(CLOCK.now())) == 1
    assert len(await dead.claim_out(CLOCK.now())) == 1
    assert len(await dead.claim_due(CLOCK.now())) == 1
    alive = await Store.open(shared)
    await alive.beat()
    assert await alive.next_inbound(CLOCK.now(), 9) == []
    assert await alive.claim_out(CLOCK.now(), 9) == []
    assert await alive.claim_due(CLOCK.now(), 9) == []
    await alive._db.write(_end_lease, dead.worker)
    assert await alive.beat() == 1
    (item,) = await alive.next_inbound(CLOCK.now(), 9)
    assert item.inbound.key == "u2"
    assert len(await alive.claim_out(CLOCK.now(), 9)) == 1
    assert len(await alive.claim_due(CLOCK.now(), 9)) == 1
    await alive.close()
    await dead.close()


def _end_lease(c, worker: str) -> None:
    c.execute(update(workers).where(workers.c.id == worker).values(alive_until=T0 - timedelta(days=400)))


async def test_a_worker_that_wakes_after_its_lease_keeps_nothing(shared):
    late, other = await Store.open(shared), await Store.open(shared)
    await late.take_in([arrival("u1")])
    (item,) = await late.next_inbound(CLOCK.now())
    seen = await late.snapshot("c1", CLOCK.now())
    await other._db.write(_end_lease, late.worker)
    await other.beat()
    (taken,) = await other.next_inbound(CLOCK.now())
    with pytest.raises(LeaseLost):
        await late.commit(Outcome(messages=(Message("late"),)), item, seen, CLOCK.now())
    await other.commit(Outcome(messages=(Message("other"),)), taken, seen, CLOCK.now())
    assert await late.beat() == 2  # and it joins again
    assert await other.outcomes("c1") == ["queued"]
    await late.close()
    await other.close()


async def test_leases_go_by_the_databases_clock(shared):
    store = await Store.open(shared)
    row = await store._db.read(
        lambda c: c.execute(
            text("SELECT alive_until - extract(epoch FROM clock_timestamp()) * 1000000 FROM workers")
        ).scalar_one()
    )
    assert 0 < float(row) / 1e6 <= 20
    assert await store._db.write(membership.bury) == []
    await store.close()


async def test_a_worker_outlives_a_restart_of_the_server():
    from tests.scheduler.servers import postgresql

    with postgresql() as own:
        url = own.database()
        worker = Running(await Store.open(url), Made())
        await worker.store.take_in([arrival("u1", text="before")])
        await until(lambda: len(worker.out.sent) == 1)
        await asyncio.to_thread(own.restart)
        async with asyncio.timeout(30):
            while True:
                try:
                    await worker.store.take_in([arrival("u2", text="after")])
                    break
                except OperationalError:
                    await asyncio.sleep(0.05)
        await until(lambda: len(worker.out.sent) == 2, 30)
        assert worker.out.texts == ["heard before", "heard after"]
        await worker.stop()


async def test_stopping_finishes_what_is_in_hand_and_frees_the_rest(url):
    begun = asyncio.Event()
    loop = asyncio.get_running_loop()

    def slowly(seen, inbound):
        loop.call_soon_threadsafe(begun.set)
        asyncio.run(asyncio.sleep(0.2))
        return Outcome(messages=(Message("done"),))

    worker = Running(await Store.open(url), Made(slowly))
    await worker.store.take_in([arrival("u1"), arrival("u2")])
    await begun.wait()
    await worker.stop()
    again = await Store.open(url)
    assert (await again.outcomes("c1"))[:1] in (["sent"], ["queued"])
    left = await again.next_inbound(CLOCK.now())
    assert [w.inbound.key for w in left] in (["u2"], [])
    await again.close()


async def test_a_locked_database_is_waited_for(tmp_path, monkeypatch):
    import sqlite3

    from scheduler import database

    monkeypatch.setattr(database, "BUSY_TIMEOUT_MS", 20)
    store = await Store.open(f"sqlite:///{tmp_path / 'store.db'}")
    worker = Running(store, Made(opening()))
    other = sqlite3.connect(tmp_path / "store.db", isolation_level=None)
    await store.take_in([arrival("u1")])
    await until(lambda: len(worker.out.sent) == 1)
    other.execute("BEGIN IMMEDIATE")
    with pytest.raises(OperationalError):
        await store.take_in([arrival("u2")])  # so the messenger is not told that it arrived
    await asyncio.sleep(0.2)
    other.execute("ROLLBACK")
    await store.take_in([arrival("u2")])
    await until(lambda: len(worker.out.sent) == 2)
    await worker.stop()
    other.close()
