"""Whose turn it is to fetch: Telegram lets one program poll, however many share the work.

Whoever fetches leaves a mark with how far it came, when, and who it is. The other workers of the
same database stand by, and one takes over when the mark grows old or says that nobody is on.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from scheduler.arrivals import Cursor
from scheduler.clock import Clock
from scheduler.store import Store

#: A mark this old is of one that fetches no more: three rounds without an update.
STALE = timedelta(seconds=75)
#: Telegram, "Bot API", Update: after a week without updates their numbers start anywhere. An
#: old offset would then hide new messages, so it is only used while it is fresh.
OFFSET_FRESH = timedelta(days=1)
NOBODY = "-"


@dataclass(frozen=True)
class Mark:
    """How far the stream was read: ``offset`` is the next update's number, 0 where none is known."""

    offset: int
    at: datetime
    who: str

    def __str__(self) -> str:
        return f"{self.offset} {self.at.isoformat()} {self.who}"

    @classmethod
    def of(cls, stored: str) -> Mark:
        """The mark that was written. Raises ValueError where it is none."""
        offset, at, who = stored.split(" ")
        return cls(int(offset), datetime.fromisoformat(at), who)


class Shift:
    """The turn to fetch the stream ``source``, as this worker of ``store`` sees it."""

    def __init__(self, store: Store, clock: Clock, source: str) -> None:
        self._store = store
        self._clock = clock
        self._source = source

    async def mine(self) -> bool:
        """Whether this worker may fetch: nobody else does who shares this database."""
        mark = await self._mark()
        free = mark is None or mark.who in (NOBODY, self._store.worker)
        if mark is None or free or self._clock.now() - mark.at > STALE:
            return True
        return not await self.shared()

    async def shared(self) -> bool:
        """Whether other workers are there."""
        return await self._store.beat() > 1

    async def offset(self) -> int | None:
        """Where to go on, or None where that is not known for sure."""
        mark = await self._mark()
        fresh = mark is not None and self._clock.now() - mark.at < OFFSET_FRESH
        return mark.offset if mark is not None and fresh and mark.offset else None

    def cursor(self, offset: int | None) -> Cursor:
        """The mark of having come so far, to be stored with what was fetched."""
        return Cursor(self._source, str(Mark(offset or 0, self._clock.now(), self._store.worker)))

    async def keep(self, offset: int | None) -> None:
        """Say that this worker still fetches though nothing came."""
        await self._store.take_in([], self.cursor(offset))

    async def hand_over(self) -> None:
        """Say that nobody fetches now."""
        mark = await self._mark()
        if mark is not None and mark.who == self._store.worker:
            cursor = Cursor(self._source, str(Mark(mark.offset, self._clock.now(), NOBODY)))
            await self._store.take_in([], cursor)

    async def _mark(self) -> Mark | None:
        stored = await self._store.cursor(self._source)
        return None if stored is None else Mark.of(stored)
