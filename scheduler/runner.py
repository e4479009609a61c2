"""The loop that ties all together: messages in, reminders due, messages out.

Live: :meth:`Runner.run` until :meth:`Runner.stop`. For a replay, step by step under a clock that
moves only when told: :meth:`Runner.settle` and :meth:`Runner.advance_to`.
"""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from scheduler.alarm import Alarm
from scheduler.bell import Topic
from scheduler.clock import Clock, FakeClock
from scheduler.delivery import Delivery, DeliveryTuning
from scheduler.inbox import Waiting
from scheduler.messenger import Messenger
from scheduler.persistence import persist
from scheduler.reminders import Claimed
from scheduler.store import LEASE, Store
from scheduler.turn import Answering
from scheduler.turns import Sorry, Turns, Watch


@dataclass(frozen=True)
class Tuning:
    """How the runner behaves. ``side_by_side`` is how many chats are answered at once."""

    delivery: DeliveryTuning = field(default_factory=DeliveryTuning)
    side_by_side: int = 4
    claim_due: int = 100
    in_hand: int = 1_000
    idle_s: float = 5.0


class Runner:
    """Answers what comes in, rings what falls due, sends what is said.

    ``sorry`` words the line for a person whose message (or reminder) was set aside; ``watch`` is
    told of every turn after it was kept.
    """

    def __init__(
        self,
        store: Store,
        answering: Answering,
        messenger: Messenger,
        clock: Clock,
        *,
        tuning: Tuning | None = None,
        sorry: Sorry | None = None,
        watch: Watch | None = None,
    ) -> None:
        self._store = store
        self._clock = clock
        self._tuning = tuning or Tuning()
        simulated = isinstance(clock, FakeClock)
        self.turns = Turns(
            store,
            answering,
            clock,
            sorry=sorry,
            watch=watch,
            threads=not simulated,
            retry_first_s=0.0 if simulated else 1.0,
        )
        self.delivery = Delivery(store, messenger, clock, self._tuning.delivery)
        self._messenger = messenger
        self._stopping = asyncio.Event()
        self._locks: dict[str, asyncio.Lock] = {}
        self._working: set[asyncio.Task[None]] = set()

    # --- live ------------------------------------------------------------------------------------

    async def run(self) -> None:
        """Work until :meth:`stop`; then finish what is in hand, and return."""
        alarm = Alarm(lambda: self._store.bell.ring("due"))
        alarm.every(LEASE / 4, self._beat)
        alarm.every(timedelta(seconds=20), self._look_up_from_sleep)
        alarm.start()
        try:
            async with asyncio.TaskGroup() as group:
                group.create_task(self._answer_loop())
                group.create_task(self._ring_loop(alarm))
                group.create_task(self._send_loop())
        finally:
            alarm.stop()
            await self._messenger.close()

    async def stop(self) -> None:
        """Take nothing new in hand; :meth:`run` returns when what is in hand has ended."""
        self._stopping.set()
        self.delivery.stop()
        self._store.bell.ring("in", "due", "out")

    # --- step by step ----------------------------------------------------------------------------

    async def settle(self) -> None:
        """Answer all that came in and send all that is said, at the clock's moment."""
        while True:
            now = self._clock.now()
            if items := await self._store.next_inbound(now):
                await self.turns.handle(items[0])
            elif due := await self._store.claim_due(now, 1):
                await self.turns.ring(due[0])
            elif not await self.delivery.flush():
                return

    async def advance_to(self, moment: datetime) -> None:
        """Let time pass to ``moment``; what falls due on the way is rung and sent at its own moment.

        Needs a FakeClock.
        """
        if not isinstance(self._clock, FakeClock):
            raise TypeError("only a FakeClock can be moved")
        await self.settle()
        while (due := await self._next_moment()) is not None and due <= moment:
            await self._clock.advance_to(max(due, self._clock.now()))
            await self.settle()
        await self._clock.advance_to(moment)
        await self.settle()

    async def _next_moment(self) -> datetime | None:
        """Return when something happens next: a reminder falls due, a message may be tried again."""
        moments = [
            await self._store.next_due(),
            await self._store.next_inbound_at(),
            await self._store.next_out_at(),
        ]
        return min((m for m in moments if m is not None), default=None)

    # --- the loops -------------------------------------------------------------------------------

    async def _answer_loop(self) -> None:
        while not self._stopping.is_set():
            await self._room()
            now, free = self._clock.now(), self._tuning.side_by_side - len(self._working)
            items = await persist(self._store.next_inbound, now, free)
            for item in items:
                self._start(self._handle(item))
            if not items:
                await self._wait("in", await persist(self._store.next_inbound_at))
        if self._working:
            await asyncio.wait(self._working)

    async def _ring_loop(self, alarm: Alarm) -> None:
        while not self._stopping.is_set():
            now = self._clock.now()
            items = await persist(self._store.claim_due, now, self._tuning.claim_due)
            for item in items:
                await self._ring(item)
            if not items:
                due = await persist(self._store.next_due)
                alarm.at(due)
                await self._wait("due", None)

    async def _send_loop(self) -> None:
        await self.delivery.run()

    async def _handle(self, item: Waiting) -> None:
        async with self._lock(item.inbound.chat):
            await self.turns.handle(item)

    async def _ring(self, item: Claimed) -> None:
        async with self._lock(item.chat):
            await self.turns.ring(item)

    def _lock(self, chat: str) -> asyncio.Lock:
        return self._locks.setdefault(chat, asyncio.Lock())

    def _start(self, work: Coroutine[None, None, None]) -> None:
        task = asyncio.create_task(work)
        self._working.add(task)
        task.add_done_callback(self._working.discard)

    async def _room(self) -> None:
        while len(self._working) >= self._tuning.side_by_side:
            await asyncio.wait(self._working, return_when=asyncio.FIRST_COMPLETED)

    async def _wait(self, topic: Topic, until: datetime | None) -> None:
        wait_s = self._tuning.idle_s
        if until is not None:
            wait_s = min(wait_s, max(0.001, (until - self._clock.now()).total_seconds()))
        if not self._stopping.is_set():
            await self._store.bell.wait(topic, wait_s)

    async def _beat(self) -> None:
        self.delivery.workers = await persist(self._store.beat)

    async def _look_up_from_sleep(self) -> None:
        """Look again: while the machine slept the alarm's timer stood still."""
        self._store.bell.ring("in", "due", "out")
