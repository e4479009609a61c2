"""The store: what is remembered, each call one transaction.

Used by the runner, and by the doors for what stands before and beside it: :meth:`Store.take_in`,
:meth:`Store.cursor`, :meth:`Store.put_chat`, :meth:`Store.move_chat`, :meth:`Store.batch`.
"""

from __future__ import annotations

import os
import socket
import uuid
from collections.abc import Callable, Collection, Sequence
from datetime import datetime, timedelta
from functools import partial
from typing import Any, Concatenate, Literal, ParamSpec, Self, TypeVar

from sqlalchemy import Connection

from scheduler import (
    cards,
    counting,
    forgetting,
    inbox,
    keeping,
    lanes,
    membership,
    outbox,
    presses,
    reminders,
    ringing,
    schema,
    snapshots,
    wakeups,
)
from scheduler.arrivals import Arrival, Cursor, Tap
from scheduler.bell import TOPICS, Bell, Topic
from scheduler.clock import Clock, SystemClock
from scheduler.counting import Aside, Counts
from scheduler.database import Database
from scheduler.inbox import Waiting
from scheduler.keeping import Cause
from scheduler.outbox import Outgoing
from scheduler.reminders import Claimed
from scheduler.ringing import Calls
from scheduler.turn import BatchFile, Chat, Due, Message, Outcome, Press, Ring, Snapshot

LEASE = timedelta(seconds=20)
#: Messengers repeat what was not acknowledged for a day at most.
KEYS_KEPT = timedelta(days=7)

P = ParamSpec("P")
T = TypeVar("T")


class Store:
    """A database with its journal, inbox, outbox and reminders. Make one with :meth:`open`."""

    def __init__(
        self,
        database: Database,
        new_chat: Callable[[str], Chat],
        clock: Clock,
        lease: timedelta,
        *,
        works: bool,
    ) -> None:
        self._db = database
        self._new_chat = new_chat
        self._clock = clock
        self.lease = lease
        self._works = works
        self.bell = Bell()
        self.worker = uuid.uuid4().hex
        self._name = f"{socket.gethostname()}:{os.getpid()}"

    @classmethod
    async def open(
        cls,
        url: str,
        *,
        migrate: bool = True,
        throwaway: bool = False,
        alone: bool = True,
        new_chat: Callable[[str], Chat] = Chat,
        clock: Clock | None = None,
        lease: timedelta = LEASE,
    ) -> Self:
        """Open the database at ``url`` (``sqlite:///path`` or ``postgresql://...``), made on first use.

        ``migrate`` brings an older database up to date, after a backup copy of an SQLite file.
        ``throwaway`` takes a fresh SQLite file that is gone after :meth:`close`; ``url`` is not used.
        ``alone=False`` only looks (export, doctor), beside a process that works on the same file.
        ``new_chat`` gives the habits of a conversation that is not known yet. ``clock`` says when
        something came in (the machine's clock, unless a replay gives its own). ``lease`` is how long
        work in hand is this worker's without a sign of life.
        Raises DatabaseInUse, DatabaseNewer, DatabaseOlder, DatabaseDamaged or DatabaseUnreachable.
        """
        if throwaway:
            database = schema.throwaway()
        else:
            database = await schema.open_database(url, migrate=migrate, alone=alone)
        store = cls(database, new_chat, clock or SystemClock(), lease, works=alone)
        if alone:
            await store.join()
        return store

    async def close(self) -> None:
        """Leave, so that others take over at once, and close the database."""
        try:
            if self._works:
                await self._db.write(membership.leave, self.worker)
        finally:
            self._db.close()

    # --- coming in -------------------------------------------------------------------------------

    async def take_in(self, arrivals: Sequence[Arrival], cursor: Cursor | None = None) -> int:
        """Store what came in, once per key, with how far the stream was read; then acknowledge it.

        Returns how many were new. Wakes the runner.
        """
        return await self._change(("in", "due"), inbox.take_in, arrivals, cursor, self._clock.now())

    async def cursor(self, source: str) -> str | None:
        """Return how far the stream ``source`` was read, or None where it never was."""
        return await self._db.read(inbox.read_cursor, source)

    async def look_up(self, chat: str, tap: Tap) -> Press:
        """Return what a pressed button means (the runner does this for what is taken in)."""
        return await self._db.read(presses.look_up, chat, tap)

    async def next_inbound(self, now: datetime, limit: int = 1) -> list[Waiting]:
        """Take the next message of up to ``limit`` chats in hand; in order within a chat.

        Each is ended by :meth:`commit`, :meth:`put_back` or :meth:`set_aside`.
        """
        return await self._db.mark(inbox.claim, self.worker, now, limit)

    async def begin_alone(self, item: Waiting) -> None:
        """Note that a suspect message is handled now, with no other in hand."""
        await self._db.mark(inbox.begin_alone, item)

    async def put_back(self, item: Waiting, trace: str, now: datetime, not_before: datetime) -> None:
        """Note that a message broke its handler; it is tried again at ``not_before``."""
        await self._change(("in",), inbox.put_back, item, trace, now, not_before)

    async def set_aside(self, item: Waiting, trace: str, outcome: Outcome, now: datetime) -> None:
        """Take a message that cannot be handled out of the way, saying ``outcome.messages``."""
        await self._change(("in", "out"), keeping.set_aside, self.worker, item, trace, outcome, now=now)

    async def next_inbound_at(self) -> datetime | None:
        """Return when the next message that nobody handles may be taken."""
        return await self._db.read(lanes.next_claim_at, "in", self._clock.now())

    # --- answering -------------------------------------------------------------------------------

    async def snapshot(self, chat: str, now: datetime, also: int | None = None) -> Snapshot:
        """Return all that an answer may depend on: running and recent batches, and batch ``also``."""
        return await self._db.read(snapshots.snapshot, chat, now, self._new_chat, also)

    async def commit(self, outcome: Outcome, cause: Cause | None, seen: Snapshot, now: datetime) -> None:
        """Keep ``outcome``, reckoned from ``seen``, with the mark that ``cause`` is dealt with.

        Raises Conflict (take a fresh snapshot, answer again) or LeaseLost (somebody else has it).
        """
        topics: tuple[Topic, ...] = ("out", "in", "due") if outcome.rings else ("out", "in")
        await self._change(topics, keeping.commit, outcome, cause, seen, now=now, worker=self.worker)

    # --- ringing ---------------------------------------------------------------------------------

    async def next_due(self) -> datetime | None:
        """Return the earliest moment at which a reminder falls due, or None."""
        return await self._db.read(reminders.next_due)

    async def reminders(self, chat: str | None = None) -> list[tuple[str, int | None, Ring, str]]:
        """Return (chat, batch, reminder, state) of one chat or of all, by moment."""
        return await self._db.read(reminders.listing, chat)

    async def claim_due(self, now: datetime, limit: int = 100) -> list[Claimed]:
        """Take up to ``limit`` due reminders in hand: protecting ones first, then the oldest."""
        return await self._db.mark(reminders.claim, self.worker, now, limit)

    async def begin_ring(self, item: Claimed, now: datetime) -> tuple[Snapshot, Calls, Due] | None:
        """Return what is needed to say a due reminder, or None where there is nothing left to say.

        Decides by :mod:`scheduler.lateness` what of its batch is told with it or dropped.
        """
        return await self._db.mark(ringing.begin, self.worker, item, now, self._new_chat)

    async def put_back_ring(self, item: Claimed, trace: str, call_at: datetime) -> None:
        """Note that a reminder broke its handler; it is tried again at ``call_at``."""
        await self._change(("due",), reminders.put_back, item, self.worker, trace, call_at)

    async def set_aside_ring(self, item: Claimed, trace: str, outcome: Outcome, now: datetime) -> None:
        """Take a reminder that cannot be said out of the way, saying ``outcome.messages``."""
        await self._change(("out",), ringing.set_aside, self.worker, item, trace, outcome, now=now)

    async def let_go(self, ids: Sequence[int]) -> None:
        """Free reminders in hand for whoever comes next."""
        await self._change(("due",), reminders.let_go, ids, self.worker)

    # --- going out -------------------------------------------------------------------------------

    async def claim_out(self, now: datetime, limit: int = 1) -> list[Outgoing]:
        """Take the next message to send of up to ``limit`` chats in hand, urgent ones first."""
        return await self._db.mark(outbox.claim, self.worker, now, limit)

    async def next_out_at(self) -> datetime | None:
        """Return when the next message may be sent, or None where nothing waits."""
        return await self._db.read(lanes.next_claim_at, "out", self._clock.now())

    async def close_out(
        self,
        out: Outgoing,
        state: str,
        now: datetime,
        *,
        messenger_id: str | None = None,
        trace: str | None = None,
        not_before: datetime | None = None,
        next_slot: datetime | None = None,
    ) -> None:
        """Note how a message ended: ``sent``, ``unsure`` (maybe twice), ``refused`` or ``expired``."""
        await self._change(
            ("out",),
            outbox.close,
            self.worker,
            out,
            state,
            now,
            messenger_id=messenger_id,
            trace=trace,
            not_before=not_before,
            next_slot=next_slot,
        )

    async def retry_out(
        self, out: Outgoing, trace: str, now: datetime, not_before: datetime, *, unsure: bool = False
    ) -> None:
        """Put a message back at the head of its queue, to be sent again at ``not_before``."""
        put_back = partial(outbox.put_back, not_before=not_before, unsure=unsure)
        await self._change(("out",), put_back, self.worker, out, trace, now)

    async def to_be_pinned(
        self, out: Outgoing, now: datetime, *, messenger_id: str, next_slot: datetime, not_before: datetime | None
    ) -> None:
        """Note which message shows a card; it stands in the queue until :meth:`close_out`."""
        note = partial(outbox.to_be_pinned, messenger_id=messenger_id, next_slot=next_slot, not_before=not_before)
        await self._change(("out",), note, self.worker, out, now)

    async def pinned(self, out: Outgoing, messenger_id: str | None) -> None:
        """Note which message is pinned for a card; None for none."""
        await self._db.write(cards.pinned, out.chat, out.message.pin or "", messenger_id)

    async def pin_refused(self, out: Outgoing, now: datetime, line: Message | None) -> None:
        """Note that a card may not be pinned, saying ``line`` the first time in its chat."""

        def note(c: Connection) -> None:
            if cards.refused(c, out.chat, out.message.pin or "") and line is not None:
                outbox.enqueue(c, out.chat, (line,), now)

        await self._change(("out",), note)

    async def chat_gone(self, chat: str, now: datetime, trace: str) -> None:
        """Note that nobody can be reached in a chat: nothing is sent or rung until it speaks again."""
        await self._db.write(forgetting.gone, self.worker, chat, now, trace)

    async def move_chat(self, old: str, new: str, now: datetime) -> None:
        """Give a chat the new id that its messenger gave it; everything moves with it."""
        await self._change(TOPICS, forgetting.move, old, new, now)

    async def outcomes(self, chat: str) -> list[str]:
        """Return what became of each message said in a chat, oldest first (``queued`` while it waits)."""
        return await self._db.read(outbox.outcomes, chat)

    # --- beside a turn ---------------------------------------------------------------------------

    async def put_chat(self, chat: Chat, now: datetime) -> None:
        """Set a conversation's habits from outside a turn (settings, a replay's settings line)."""
        await self._db.write(keeping.put_chat, chat, now)

    async def batch(self, chat: str, number: int) -> BatchFile | None:
        """Return one batch with its whole journal, or None."""
        return await self._db.read(snapshots.batch, chat, number)

    def all_batches_now(self, chat: str) -> tuple[BatchFile, ...]:
        """Return every batch of a chat with its whole journal, in the calling thread: not for the event loop."""
        return self._db.read_now(snapshots.whole, chat)

    async def batches(self, chat: str | None = None) -> list[tuple[str, BatchFile]]:
        """Return (chat, batch without its journal) of one chat or of all, oldest first."""
        return await self._db.read(snapshots.listing, chat)

    async def forgotten(self) -> list[str]:
        """Return the chats of which only that is kept: that they were forgotten."""
        return await self._db.read(snapshots.forgotten)

    async def aside(self) -> list[Aside]:
        """Return what broke its handler too often and waits for somebody to look at it."""
        return await self._db.read(counting.aside)

    async def look(self, work: Callable[Concatenate[Connection, P], T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Run a function of the connection that only reads."""
        return await self._db.read(work, *args, **kwargs)

    async def counts(self) -> Counts:
        """Return what stands in the store, for the metrics and the doctor."""
        return await self._db.read(counting.counts, self._clock.now())

    # --- membership ------------------------------------------------------------------------------

    async def join(self) -> None:
        """Enter as a worker; on SQLite, free what an earlier process left in hand."""
        if self._db.sqlite:
            await self._db.write(membership.clear)
        await self._db.write(membership.join, self.worker, self._name, self.lease)

    async def beat(self) -> int:
        """Renew the lease and free what dead workers held. Returns how many workers there are."""
        return await self._db.mark(membership.tend, self.worker, self._name, self.lease, self._clock.now())

    async def free_strays(self, way: Literal["in", "out", "due"], in_hand: Collection[Any]) -> None:
        """Free what this worker holds without having it in hand, after a claim whose reply was lost."""
        if way == "due":
            await self._db.write(reminders.free_strays, self.worker, in_hand)
        else:
            await self._db.write(lanes.free_strays, way, self.worker, in_hand)

    async def sweep(self) -> None:
        """Forget what nobody will ask for again: keys of messages dealt with long ago."""
        await self._db.write(inbox.sweep, self._clock.now() - KEYS_KEPT)

    async def listen(self) -> None:
        """Ring the bell for work that other processes announce, until cancelled."""
        if not self._db.sqlite:
            await wakeups.listen(self._db.url, self.bell)

    async def _change(
        self,
        topics: tuple[Topic, ...],
        work: Callable[Concatenate[Connection, P], T],
        *args: P.args,
        **kwargs: P.kwargs,
    ) -> T:
        """Run ``work`` in one transaction and wake whoever waits for what it brought."""

        def with_notice(c: Connection) -> T:
            result = work(c, *args, **kwargs)
            wakeups.announce(c, topics)
            return result

        result = await self._db.write(with_notice)
        self.bell.ring(*topics)
        return result
