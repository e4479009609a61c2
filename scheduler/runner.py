"""The loop that ties all together: messages in, reminders due, messages out.

Live: :meth:`Runner.run` until :meth:`Runner.stop`. For a replay, step by step under a clock that
moves only when told: :meth:`Runner.settle` and :meth:`Runner.advance_to`.
"""

from __future__ import annotations

import asyncio
import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import partial
from weakref import WeakValueDictionary

from scheduler.alarm import Alarm
from scheduler.bell import Topic
from scheduler.clock import Clock, FakeClock
from scheduler.delivery import Delivery, DeliveryTuning
from scheduler.hands import Hands
from scheduler.inbox import Waiting
from scheduler.messenger import Messenger
from scheduler.persistence import persist
from scheduler.reminders import Claimed
from scheduler.store import Store
from scheduler.turn import Answering
from scheduler.turns import Meter, Sorry, Turns, Watch

SWEEP_EVERY = timedelta(hours=1)
#: Answers are reckoned in threads: each time one of them has the interpreter, the loop waits for it
#: this long, and several times for each message. The interpreter's own choice is 5 ms.
TURN_S = 0.001


@dataclass(frozen=True)
class Tuning:
    """How the runner behaves.

    ``side_by_side`` is how many chats are answered at once, and how many reminders are said at once;
    ``claim_due`` how many reminders one transaction takes, ``in_hand`` how many are taken ahead;
    ``look_s`` how often every loop looks by itself, whatever alarms and wake-ups there are: after a
    suspend, or a clock that was set, nothing waits longer than that.
    """

    delivery: DeliveryTuning = field(default_factory=DeliveryTuning)
    side_by_side: int = 4
    claim_due: int = 250
    in_hand: int = 1_000
    look_s: float = 5.0


class Runner:
    """Answers what comes in, rings what falls due, sends what is said.

    ``sorry`` words the line for a person whose message (or reminder) was set aside; ``watch`` is
    told of every turn after it was kept, ``meter`` how long each took.
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
        meter: Meter | None = None,
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
            meter=meter,
            threads=not simulated,
            retry_first_s=0.0 if simulated else 1.0,
        )
        self.delivery = Delivery(store, messenger, clock, self._tuning.delivery)
        self._messenger = messenger
        self._stopping = asyncio.Event()
        self._saying = asyncio.Semaphore(self._tuning.side_by_side)
        self._locks: WeakValueDictionary[str, asyncio.Lock] = WeakValueDictionary()

    # --- live ------------------------------------------------------------------------------------

    async def run(self) -> None:
        """Work until :meth:`stop`; then finish what is in hand, and return."""
        alarm = Alarm(partial(self._store.bell.ring, "due"))
        alarm.every(SWEEP_EVERY, partial(persist, self._store.sweep))
        alarm.start()
        beside = [asyncio.create_task(self._beat()), asyncio.create_task(self._store.listen())]
        try:
            with _never_long():
                await self._work(alarm)
        finally:
            alarm.stop()
            for task in beside:
                task.cancel()
            await asyncio.gather(*beside, return_exceptions=True)
            await self._messenger.close()

    async def _work(self, alarm: Alarm) -> None:
        async with asyncio.TaskGroup() as group:
            group.create_task(self._answer(group))
            group.create_task(self._ring(group, alarm))
            group.create_task(self.delivery.run())

    async def stop(self) -> None:
        """Take nothing new in hand; :meth:`run` returns when what is in hand has ended."""
        self._stopping.set()
        self.delivery.stop()
        self._store.bell.ring("in", "due", "out")

    # --- step by step ----------------------------------------------------------------------------

    async def settle(self) -> None:
        """Answer all that came in, ring all that is due and send all that is said, at the clock's moment."""
        while True:
            now = self._clock.now()
            await self.delivery.flush()
            if items := await self._store.next_inbound(now):
                await self.turns.handle(items[0])
            elif due := await self._store.claim_due(now, 1):
                await self.turns.ring(due[0])
            else:
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

    async def _answer(self, group: asyncio.TaskGroup) -> None:
        hands: Hands[str] = Hands(group, self._tuning.side_by_side)
        while not self._stopping.is_set():
            await hands.room()
            claim = partial(self._store.next_inbound, self._clock.now(), hands.free)
            items = await hands.take(claim, partial(self._store.free_strays, "in"))
            for item in sorted(items, key=lambda item: item.suspect):
                if item.suspect:
                    await hands.rest()
                hands.start(item.inbound.chat, self._handle(item))
                if item.suspect:
                    await hands.rest()
            if not items:
                await self._wait("in", await persist(self._store.next_inbound_at))

    async def _ring(self, group: asyncio.TaskGroup, alarm: Alarm) -> None:
        hands: Hands[int] = Hands(group, self._tuning.in_hand)
        while not self._stopping.is_set():
            await hands.room()
            limit = min(hands.free, self._tuning.claim_due)
            claim = partial(self._store.claim_due, self._clock.now(), limit)
            items = await hands.take(claim, partial(self._store.free_strays, "due"))
            for item in items:
                hands.start(item.id, self._say(item))
            if len(items) < limit:
                alarm.at(await persist(self._store.next_due))
                await self._wait("due", None)

    async def _handle(self, item: Waiting) -> None:
        async with self._lock(item.inbound.chat):
            await self.turns.handle(item)

    async def _say(self, item: Claimed) -> None:
        async with self._saying, self._lock(item.chat):
            if self._stopping.is_set():
                await persist(self._store.let_go, [item.id])
            else:
                await self.turns.ring(item)

    def _lock(self, chat: str) -> asyncio.Lock:
        """Return the chat's lock: its message and its reminder would only meet in a conflict."""
        lock = self._locks.get(chat)
        if lock is None:
            lock = self._locks[chat] = asyncio.Lock()
        return lock

    async def _wait(self, topic: Topic, until: datetime | None) -> None:
        wait_s = self._tuning.look_s
        if until is not None:
            wait_s = min(wait_s, max(0.001, (until - self._clock.now()).total_seconds()))
        if not self._stopping.is_set():
            await self._store.bell.wait(topic, wait_s)

    async def _beat(self) -> None:
        """Renew the lease by the loop's own timer: the wall clock may be set back."""
        while True:
            self.delivery.workers = await persist(self._store.beat)
            await asyncio.sleep(self._store.lease.total_seconds() / 4)


@contextmanager
def _never_long() -> Iterator[None]:
    """Let threads take short turns, and no garbage be looked for in what was there at the start.

    A look through all that the libraries made was measured to stop everything for 68 ms.
    """
    usual = sys.getswitchinterval()
    sys.setswitchinterval(TURN_S)
    gc.freeze()
    try:
        yield
    finally:
        gc.unfreeze()
        sys.setswitchinterval(usual)
