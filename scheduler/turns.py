"""Taking one turn: a message or a due reminder, answered and kept, whatever goes wrong on the way."""

from __future__ import annotations

import asyncio
import logging
import traceback
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from datetime import timedelta
from time import perf_counter
from typing import Literal, Protocol, TypeVar

from scheduler.clock import Clock
from scheduler.errors import Conflict, LeaseLost
from scheduler.inbox import DEATHS, Waiting
from scheduler.pacing import backoff_s
from scheduler.persistence import persist
from scheduler.reminders import Claimed
from scheduler.store import Store
from scheduler.turn import Answering, Due, Inbound, Message, Outcome

log = logging.getLogger(__name__)
T = TypeVar("T")

#: What breaks its handler this often is set aside.
FAILURES = 3

#: Told of every turn after it was kept: what it was about, and what came of it.
Watch = Callable[[Inbound | Due, Outcome], None]
#: Words for the person whose message or reminder was set aside; None says nothing.
Sorry = Callable[[Inbound | Claimed], Message | None]


class Meter(Protocol):
    """Told how long things took, and how late reminders were, in seconds."""

    def took(self, what: Literal["message", "reminder"], seconds: float) -> None:
        """Note how long a turn took, from the snapshot to the commit."""

    def late(self, seconds: float) -> None:
        """Note how late a reminder was said."""


@dataclass
class Tally:
    """Counts since the start, for the metrics."""

    handled: int = 0
    rung: int = 0
    conflicts: int = 0
    retried: int = 0
    aside: int = 0
    lost: int = 0


class NoMeter:
    """Notes nothing."""

    def took(self, what: Literal["message", "reminder"], seconds: float) -> None:
        """Note nothing."""

    def late(self, seconds: float) -> None:
        """Note nothing."""


class Turns:
    """Answers what the store has in hand. ``threads`` runs the answering off the event loop."""

    def __init__(
        self,
        store: Store,
        answering: Answering,
        clock: Clock,
        *,
        sorry: Sorry | None = None,
        watch: Watch | None = None,
        meter: Meter | None = None,
        threads: bool = True,
        retry_first_s: float = 1.0,
    ) -> None:
        self._store = store
        self._answering = answering
        self._clock = clock
        self._sorry = sorry
        self._watch = watch
        self._meter = meter or NoMeter()
        self._threads = threads
        self._retry_first_s = retry_first_s
        self.tally = Tally()

    async def handle(self, item: Waiting) -> None:
        """Answer a message in hand and keep what comes of it; never raises for a broken handler."""
        try:
            if item.deaths >= DEATHS:
                await self._set_aside(item, "the process died each time this was in hand")
            else:
                if item.suspect:
                    await persist(self._store.begin_alone, item)
                await self._answer(item)
        except LeaseLost:
            self.tally.lost += 1
        except Exception:
            await self._broke(item, traceback.format_exc())

    async def ring(self, item: Claimed) -> None:
        """Say a due reminder in hand, if there is still something to say."""
        try:
            await self._say(item)
        except LeaseLost:
            self.tally.lost += 1
            await persist(self._store.let_go, [item.id])
        except Exception:
            await self._ring_broke(item, traceback.format_exc())

    async def _answer(self, item: Waiting) -> None:
        chat, answer = item.inbound.chat, self._answering.answer

        async def attempt() -> Outcome:
            now = self._clock.now()
            seen = await persist(self._store.snapshot, chat, now)
            outcome = await self._call(lambda: answer(seen, item.inbound))
            await persist(self._store.commit, outcome, item, seen, now)
            return outcome

        start = perf_counter()
        outcome = await self._until_kept(attempt)
        self._meter.took("message", perf_counter() - start)
        self.tally.handled += 1
        if self._watch:
            self._watch(item.inbound, outcome)

    async def _say(self, item: Claimed) -> None:
        async def attempt() -> tuple[Due, Outcome] | None:
            now = self._clock.now()
            begun = await persist(self._store.begin_ring, item, now)
            if begun is None:
                return None
            seen, calls, due = begun
            outcome = await self._call(lambda: self._answering.ring(seen, due))
            await persist(self._store.commit, outcome, calls, seen, now)
            return due, outcome

        start = perf_counter()
        said = await self._until_kept(attempt)
        if said is None:  # told with another, or not due after all by a clock that was set back
            await persist(self._store.let_go, [item.id])
            return
        self._meter.took("reminder", perf_counter() - start)
        self._meter.late(said[0].late_s)
        self.tally.rung += 1
        if self._watch:
            self._watch(*said)

    async def _until_kept(self, attempt: Callable[[], Awaitable[T]]) -> T:
        """Answer anew from a fresh snapshot for as long as the chat changes meanwhile."""
        while True:
            try:
                return await attempt()
            except Conflict:
                self.tally.conflicts += 1

    async def _call(self, answer: Callable[[], Outcome]) -> Outcome:
        return await asyncio.to_thread(answer) if self._threads else answer()

    async def _broke(self, item: Waiting, trace: str) -> None:
        log.error("a message broke its handler", extra={"inbox_id": item.id, "failures": item.failures + 1})
        if item.failures + 1 >= FAILURES:
            await self._set_aside(item, trace)
            return
        self.tally.retried += 1
        now = self._clock.now()
        again = now + timedelta(seconds=self._wait_s(item.failures + 1))
        await persist(self._store.put_back, item, trace, now, again)

    async def _set_aside(self, item: Waiting, trace: str) -> None:
        outcome, now = self._apology(item.inbound), self._clock.now()
        await persist(self._store.set_aside, item, trace, outcome, now)
        self.tally.aside += 1

    async def _ring_broke(self, item: Claimed, trace: str) -> None:
        failures = {"reminder_id": item.id, "failures": item.failures + 1}
        log.error("a reminder broke its handler", extra=failures)
        now = self._clock.now()
        if item.failures + 1 >= FAILURES:
            outcome = self._apology(item)
            await persist(self._store.set_aside_ring, item, trace, outcome, now)
            self.tally.aside += 1
            return
        self.tally.retried += 1
        again = now + timedelta(seconds=self._wait_s(item.failures + 1))
        await persist(self._store.put_back_ring, item, trace, again)

    def _apology(self, about: Inbound | Claimed) -> Outcome:
        message = self._sorry(about) if self._sorry else None
        return Outcome(messages=(message,) if message else ())

    def _wait_s(self, failures: int) -> float:
        return backoff_s(failures, first_s=self._retry_first_s) if self._retry_first_s else 0.0
