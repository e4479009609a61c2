"""Delivery: what stands in the outbox goes to the messenger, in order within each chat.

At least once: a message is marked as sent after the messenger has taken it. So that a crash doubles
at most the message in flight, the next send starts only when the last has been noted, or has kept
everyone waiting for ``patience_s``: a slow chat holds up the others no longer than that.

A send that gets no answer may have arrived. It is repeated once, for a late double is better than a
missed call; a second one without an answer is marked ``unsure`` and not tried a third time, for the
messenger has then probably taken both. What protects the food is rung again in any case.

A card (see :mod:`scheduler.cards`) is sent, noted, and then pinned; from then on it is edited.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import partial

from scheduler.clock import Clock
from scheduler.hands import Hands
from scheduler.messenger import (
    ChatGone,
    ChatMoved,
    Messenger,
    NotAllowed,
    Refused,
    RetryAfter,
    SendError,
    Sent,
    Unsure,
)
from scheduler.outbox import Outgoing
from scheduler.pacing import Pacing, backoff_s
from scheduler.persistence import persist
from scheduler.store import Store
from scheduler.turn import Message

log = logging.getLogger(__name__)

__all__ = [
    "ChatGone", "ChatMoved", "Delivery", "DeliveryTuning", "Messenger", "NotAllowed", "Outgoing", "Pacing",
    "Refused", "RetryAfter", "SendError", "Sent", "Unsure",
]  # fmt: skip


@dataclass(frozen=True)
class DeliveryTuning:
    """How delivery behaves. ``expires`` is how long a message that nobody takes is tried."""

    pacing: Pacing = field(default_factory=Pacing)
    patience_s: float = 0.05
    in_flight: int = 16
    expires: timedelta = timedelta(hours=24)
    unsure_retry_s: float = 5.0
    idle_s: float = 5.0
    #: Said once in a chat where a card may not be pinned.
    not_pinned: Message | None = None


class Delivery:
    """Sends what stands in the outbox of ``store`` through ``messenger``."""

    def __init__(self, store: Store, messenger: Messenger, clock: Clock, tuning: DeliveryTuning | None = None) -> None:
        self._store = store
        self._messenger = messenger
        self._clock = clock
        self._tuning = tuning or DeliveryTuning()
        self._slot = clock.now()
        self._stopping = False
        self.workers = 1

    async def run(self) -> None:
        """Send until :meth:`stop`; then let what is in flight end."""
        async with asyncio.TaskGroup() as group:
            hands: Hands[str] = Hands(group, self._tuning.in_flight)
            while not self._stopping:
                await hands.rest(self._tuning.patience_s)
                await hands.room()
                if not await self._send_next(hands):
                    await self._wait()

    def stop(self) -> None:
        """Start nothing more."""
        self._stopping = True
        self._store.bell.ring("out")

    async def flush(self) -> int:
        """Send all that may go now, one after the other. Returns how many were sent."""
        count = 0
        while outs := await self._store.claim_out(self._clock.now()):
            await self._deliver(outs[0])
            count += 1
        return count

    async def _send_next(self, hands: Hands[str]) -> bool:
        now = self._clock.now()
        claim = partial(self._store.claim_out, now)
        outs = await hands.take(claim, partial(self._store.free_strays, "out"))
        for out in outs:
            hands.start(out.chat, self._deliver(out))
            await self._pace(now)
        return bool(outs)

    async def _pace(self, now: datetime) -> None:
        """Keep to the overall rate, shared with the other workers."""
        overall = self._tuning.pacing.overall
        share = type(overall)(overall.every_s * self.workers, overall.burst)
        self._slot, go = share.spend(self._slot, now)
        if (wait_s := (go - now).total_seconds()) > 0:
            await asyncio.sleep(wait_s)

    async def _wait(self) -> None:
        """Wait for something to send, or for the moment at which what waits may go."""
        at = await persist(self._store.next_out_at)
        wait_s = self._tuning.idle_s
        if at is not None:
            wait_s = min(wait_s, max(0.001, (at - self._clock.now()).total_seconds()))
        if not self._stopping:
            await self._store.bell.wait("out", wait_s)

    async def _deliver(self, out: Outgoing) -> None:
        """Send one message and note what became of it."""
        try:
            sent = await self._hand_over(out)
        except Exception as error:
            log.warning("sending failed: %s", _line(error), extra={"outbox_id": out.id})
            await self._failed(out, error)
        else:
            await self._sent(out, sent)

    async def _failed(self, out: Outgoing, error: Exception) -> None:
        now = self._clock.now()
        match error:
            case RetryAfter():
                await self._later(out, error, error.seconds)
            case Unsure() if out.unsure and out.replaces is None:
                await persist(self._store.close_out, out, "unsure", now, trace=_line(error))
            case Unsure():
                await self._later(out, error, self._tuning.unsure_retry_s)
            case ChatGone():
                await persist(self._store.chat_gone, out.chat, now, _line(error))
            case ChatMoved():
                await persist(self._store.move_chat, out.chat, error.new_id, now)
            case Refused():
                await persist(self._store.close_out, out, "refused", now, trace=_line(error))
            case _:
                await self._later(out, error, backoff_s(out.attempt))

    async def _hand_over(self, out: Outgoing) -> Sent:
        if out.replaces is None:
            return await self._messenger.send(out)
        if not out.shown:
            try:
                await self._messenger.edit(out)
            except Refused:
                log.info("card cannot be edited", extra={"outbox_id": out.id})
                if out.card is None or not out.card.over:
                    return await self._messenger.send(out)
        await self._pin(out, out.replaces)
        return Sent(out.replaces)

    async def _pin(self, out: Outgoing, shown: str) -> None:
        """Let the card be pinned that is to be, and no other of its key."""
        pinned, wanted = (out.card.pinned, not out.card.over) if out.card else (None, False)
        if pinned is not None and not (wanted and pinned == shown):
            with contextlib.suppress(Refused):
                await self._messenger.unpin(out.chat, pinned)
            await persist(self._store.pinned, out, None)
        if not wanted or pinned == shown:
            return
        try:
            await self._messenger.pin(out.chat, shown)
        except NotAllowed:
            await persist(self._store.pin_refused, out, self._clock.now(), self._tuning.not_pinned)
        except Refused as refusal:
            log.info("card not pinned: %s", refusal, extra={"outbox_id": out.id})
        else:
            await persist(self._store.pinned, out, shown)

    async def _sent(self, out: Outgoing, sent: Sent) -> None:
        now = self._clock.now()
        slot, go = self._tuning.pacing.chat(out.chat).spend(out.next_slot or now, now)
        wait = go if go > now else None
        if out.card is not None and not out.card.over and sent.id is not None and sent.id != out.replaces:
            note = partial(self._store.to_be_pinned, messenger_id=sent.id, next_slot=slot, not_before=wait)
            await persist(note, out, now)
            return
        await persist(self._store.close_out, out, "sent", now, messenger_id=sent.id, next_slot=slot, not_before=wait)

    async def _later(self, out: Outgoing, error: Exception, wait_s: float) -> None:
        now = self._clock.now()
        if now - out.created_at > self._tuning.expires and not isinstance(error, RetryAfter):
            await persist(self._store.close_out, out, "expired", now, trace=_line(error))
            return
        again, unsure = now + timedelta(seconds=wait_s), isinstance(error, Unsure)
        await persist(self._store.retry_out, out, _line(error), now, again, unsure=unsure)


def _line(error: Exception) -> str:
    return f"{type(error).__name__}: {error}"
