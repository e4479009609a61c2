"""A worker of the bench: fetches, answers, rings and sends as the live program does.

What it answers can be checked afterwards from the journal alone: message n is written down, answered
with "ack n", and wants a reminder that says "ring n".
"""

from __future__ import annotations

import asyncio
import json
import logging
import os
import random
import resource
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from planner.entries import Entry, Kind
from scheduler.arrivals import Arrival, Cursor, Tap
from scheduler.clock import Clock, SystemClock
from scheduler.delivery import DeliveryTuning
from scheduler.messenger import ChatGone, ChatMoved, RetryAfter, Sent, Unsure
from scheduler.outbox import Outgoing
from scheduler.persistence import persist
from scheduler.runner import Runner, Tuning
from scheduler.store import Store
from scheduler.turn import BatchFile, Due, Inbound, Message, NewBatch, Outcome, Ring, Snapshot
from tests.faults import removed

SOURCE = "world"
BATCH_SIZE = 30
LEASE = timedelta(seconds=3)
#: Longer than a busy machine keeps the world from answering, or a late answer passes for a lost one.
ANSWER_WITHIN_S = 1.5
#: What an answer to "eat" wants of the memory.
EATEN = 4 << 30


class Steady:
    """Answers every message and rings every reminder, from the journal alone."""

    def answer(self, seen: Snapshot, inbound: Inbound) -> Outcome:
        if inbound.text.startswith("eat"):
            bytearray(EATEN)
        if inbound.text.startswith("break"):
            raise ValueError(inbound.text)
        if inbound.press is not None:
            return Outcome(messages=(Message(f"ack {inbound.text}"),))
        running = [b for b in seen.batches if b.closed_at is None]
        batch = running[-1] if running else None
        opened, closed = (), ()
        if batch is None or len(batch.entries) >= BATCH_SIZE:
            number = max((b.number for b in seen.batches), default=0) + 1
            opened, closed = (NewBatch(number, str(number)),), tuple(b.number for b in running)
            batch = BatchFile(number, str(number), seen.now, None, ())
        n = inbound.text.split()[0]
        due = seen.now + timedelta(seconds=random.Random(n).uniform(0.0, 1.0))
        entry = _entry(batch, seen, Kind.MESSAGE, {"n": n, "due": due.isoformat()})
        return Outcome(
            opened=opened,
            closed=closed,
            entries={batch.number: (entry,)},
            rings={batch.number: _wanted((*batch.entries, entry))},
            messages=(Message(f"ack {n}"),),
        )

    def ring(self, seen: Snapshot, due: Due) -> Outcome:
        (batch,) = [b for b in seen.batches if b.number == due.batch]
        told = [ring.data["n"] for ring in (due.ring, *due.merged)]
        entry = _entry(batch, seen, Kind.RING, {"rung": told})
        return Outcome(
            entries={batch.number: (entry,)},
            rings={batch.number: _wanted((*batch.entries, entry))},
            messages=tuple(Message(f"ring {n}") for n in told),
        )


def _entry(batch: BatchFile, seen: Snapshot, kind: Kind, data: dict[str, Any]) -> Entry:
    return Entry(len(batch.entries) + 1, kind, seen.now, seen.now, "p1", data)


def _wanted(journal: Sequence[Entry]) -> tuple[Ring, ...]:
    rung = {n for e in journal if e.kind is Kind.RING for n in e.data["rung"]}
    return tuple(
        Ring(f"r{e.data['n']}", datetime.fromisoformat(e.data["due"]), "look", "soak", data={"n": e.data["n"]})
        for e in journal
        if e.kind is Kind.MESSAGE and e.data["n"] not in rung
    )


class Line:
    """A messenger that talks to the world, one connection for each message."""

    def __init__(self, port: int) -> None:
        self._port = port

    async def send(self, out: Outgoing) -> Sent:
        reader, writer = await asyncio.open_connection("127.0.0.1", self._port)
        try:
            writer.write(json.dumps({"chat": out.chat, "text": out.message.text}).encode() + b"\n")
            async with asyncio.timeout(ANSWER_WITHIN_S):
                reply = await reader.readline()
        except TimeoutError:
            raise Unsure("no answer") from None
        except ConnectionError:
            raise Unsure("cut") from None
        finally:
            writer.close()
        return _read(reply)

    async def edit(self, out: Outgoing) -> Sent:
        return await self.send(out)

    async def close(self) -> None:
        pass


def _read(reply: bytes) -> Sent:
    if not reply:
        raise Unsure("cut")
    match json.loads(reply):
        case {"ok": number}:
            return Sent(str(number))
        case {"retry_after": seconds}:
            raise RetryAfter(seconds)
        case {"gone": _}:
            raise ChatGone("blocked")
        case {"moved": new}:
            raise ChatMoved(new)
        case other:
            raise OSError(f"server error {other}")


async def fetch(store: Store, clock: Clock, port: int, without: str | None = None) -> None:
    """Take in what the world has, and acknowledge it only once it is stored."""
    offset = int(await store.cursor(SOURCE) or 0)
    reader, writer = await asyncio.open_connection("127.0.0.1", port, limit=1 << 20)
    while True:
        writer.write(json.dumps({"get": offset}).encode() + b"\n")
        line = await reader.readline()
        if not line:
            return
        if page := json.loads(line):
            offset = max(update["id"] for update in page) + 1
            if without == "inbox":
                await removed.acknowledge_first(port, offset)
            arrivals = [_arrival(update, clock) for update in page]
            await persist(store.take_in, arrivals, Cursor(SOURCE, str(offset)))


def _arrival(update: dict[str, Any], clock: Clock) -> Arrival:
    tap = Tap(message=update["tap"][0], index=update["tap"][1]) if "tap" in update else None
    return Arrival(Inbound(update["key"], update["chat"], "p1", clock.now(), update["text"]), tap)


async def work(store: Store, clock: Clock, port: int, without: str | None = None) -> None:
    """Be a worker until ended."""
    line = Line(port)
    removed.take_away(without, line)
    tuning = Tuning(delivery=DeliveryTuning(unsure_retry_s=0.05), look_s=0.5)
    runner = Runner(store, Steady(), line, clock, tuning=tuning)
    async with asyncio.TaskGroup() as group:
        group.create_task(runner.run())
        group.create_task(fetch(store, clock, port, without))


async def _work(url: str, port: int, without: str | None) -> None:
    clock = SystemClock()
    await work(await Store.open(url, lease=LEASE), clock, port, without)


def main(url: str, port: int, without: str | None = None, memory: int | None = None) -> None:
    """Run in a process of its own, with at most ``memory`` bytes."""
    logging.disable(logging.CRITICAL)
    if memory is not None:
        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    try:
        asyncio.run(_work(url, port, without))
    except BaseException:  # the bench's own end, or a mistake that its checks will show
        if os.environ.get("FAULTS_TRACE"):
            raise
        os._exit(1)
