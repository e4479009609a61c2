"""Parts for the tests: a made-up way to answer, a messenger that writes down, moments."""

from __future__ import annotations

import asyncio
import itertools
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from planner.entries import Entry, Kind
from scheduler.arrivals import Arrival, Tap
from scheduler.clock import Clock
from scheduler.messenger import Sent
from scheduler.outbox import Outgoing
from scheduler.turn import Due, Inbound, Message, NewBatch, Outcome, Ring, Snapshot

T0 = datetime(2026, 9, 11, 17, 40, tzinfo=UTC)
HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)


_keys = itertools.count()


def fresh_key() -> str:
    """A key that no other event has."""
    return f"event {next(_keys)}"


def arrival(key: str, chat: str = "c1", text: str = "", tap: Tap | None = None, **more: Any) -> Arrival:
    """Something that came in at T0 from p1, unless said otherwise."""
    return Arrival(Inbound(**{"key": key, "chat": chat, "sender": "p1", "at": T0, "text": text, **more}), tap)


def ring(key: str = "pull", due: datetime = T0 + HOUR, **more: Any) -> Ring:
    """A reminder an hour after T0, unless said otherwise."""
    return Ring(**{"key": key, "due": due, "what": key, "stage": "soak", **more})


def entry(number: int, text: str = "", at: datetime = T0) -> Entry:
    """A journal entry of somebody's words."""
    return Entry(number, Kind.MESSAGE, at, at, "p1", {"n": number}, text)


async def until(true: Callable[[], bool], timeout_s: float = 20) -> None:
    """Wait until something is so that tells nobody."""
    async with asyncio.timeout(timeout_s):
        while not true():  # noqa: ASYNC110
            await asyncio.sleep(0.005)


def echo(seen: Snapshot, inbound: Inbound) -> Outcome:
    """Say back what came in."""
    return Outcome(messages=(Message(f"heard {inbound.text}"),))


def call(seen: Snapshot, due: Due) -> Outcome:
    """Say which reminder is due."""
    return Outcome(messages=(Message(f"ring {due.ring.key}"),))


def opening(*rings: Ring, **more: Any) -> Callable[[Snapshot, Inbound], Outcome]:
    """Answer by opening a batch with one entry and these reminders."""

    def answer(seen: Snapshot, inbound: Inbound) -> Outcome:
        number = max((b.number for b in seen.batches), default=0) + 1
        return Outcome(
            opened=(NewBatch(number, f"batch {number}"),),
            entries={number: (entry(1, inbound.text),)},
            rings={number: rings},
            messages=(Message(f"opened {number}"),),
            **more,
        )

    return answer


@dataclass
class Made:
    """An :class:`Answering` of two functions, which remembers what it was asked."""

    answers: Callable[[Snapshot, Inbound], Outcome] = echo
    rings: Callable[[Snapshot, Due], Outcome] = call
    asked: list[Inbound | Due] = field(default_factory=list)

    def answer(self, snapshot: Snapshot, inbound: Inbound) -> Outcome:
        self.asked.append(inbound)
        return self.answers(snapshot, inbound)

    def ring(self, snapshot: Snapshot, due: Due) -> Outcome:
        self.asked.append(due)
        return self.rings(snapshot, due)


@dataclass
class Noted:
    """A messenger that writes down what it was given, with the clock's moment.

    ``fails`` maps a text to errors that it raises first, in order.
    """

    clock: Clock
    sent: list[tuple[datetime, str, str]] = field(default_factory=list)
    outs: list[Outgoing] = field(default_factory=list)
    edits: list[Outgoing] = field(default_factory=list)
    pins: list[str] = field(default_factory=list)
    fails: dict[str, list[Exception]] = field(default_factory=dict)
    closed: bool = False

    async def send(self, out: Outgoing) -> Sent:
        self.outs.append(out)
        if waiting := self.fails.get(out.message.text):
            raise waiting.pop(0)
        self.sent.append((self.clock.now(), out.chat, out.message.text))
        return Sent(f"m{out.id}")

    async def edit(self, out: Outgoing) -> Sent:
        self.edits.append(out)
        if waiting := self.fails.get(f"edit {out.message.text}"):
            raise waiting.pop(0)
        return Sent(out.replaces)

    async def pin(self, chat: str, message: str) -> None:
        if waiting := self.fails.get("pin"):
            raise waiting.pop(0)
        self.pins.append(f"+{chat}:{message}")

    async def unpin(self, chat: str, message: str) -> None:
        if waiting := self.fails.get("unpin"):
            raise waiting.pop(0)
        self.pins.append(f"-{chat}:{message}")

    async def close(self) -> None:
        self.closed = True

    @property
    def texts(self) -> list[str]:
        return [text for _, _, text in self.sent]
